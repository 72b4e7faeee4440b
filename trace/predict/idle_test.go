package predict

import (
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
)

// On the two-channel board a panel with one channel leaves channel B quiet in
// every state, and the picture is whole without it.
func TestALeftChannelIsQuietAndNotMissed(t *testing.T) {
	src, _ := boards.Source("siskin15")
	full, _ := netlist.Read("siskin15.board", src)
	var left []int
	for i, l := range full.Lanes {
		if l.Name[0] == 'B' {
			left = append(left, i)
		}
	}
	b := full.With(netlist.Panel{Words: "one channel", Idle: left})
	m := New(b)
	for _, st := range m.Distinct() {
		set := st.Setting
		r := m.Run(st, Hypothesis{})
		whole := New(full).Run(st, Hypothesis{})
		for i, l := range b.Lanes {
			if alive := whole.Alive(i) && !l.Idle; r.Alive(i) != alive {
				t.Errorf("%s: lane %s alive %v, want %v", b.SettingText(set), l.Name, r.Alive(i), alive)
			}
		}
		for i, f := range b.Facts {
			if r.Holds(i) != whole.Holds(i) {
				t.Errorf("%s: %s is %v with one channel and %v with two", b.SettingText(set), f.Name, r.Holds(i), whole.Holds(i))
			}
		}
		for n := range b.Nets {
			id := netlist.NetID(n)
			e, ok := b.ExpectIn(id, set)
			if ok && e.Value == 0 && e.Swing == 0 && !b.Nets[n].Ground && (r.Volts(id) > 0.05 || r.Swing(id) > moves) {
				t.Errorf("%s: %s reads %.3f V, swing %.3f V, on a board that expects 0 V", b.SettingText(set), b.Nets[n].Name, r.Volts(id), r.Swing(id))
			}
		}
	}
	// What an unused pair reads is the board's own choice, so no probe with power on asks.
	idle, asked := 0, 0
	for _, n := range b.Nets {
		if n.Idle {
			idle++
		}
	}
	for _, p := range m.hotProbes(State{Setting: b.Usual()}) {
		if p.Net == netlist.None {
			continue
		}
		asked++
		if b.Nets[p.Net].Idle {
			t.Errorf("a probe asks for %s", b.Nets[p.Net].Name)
		}
	}
	if idle < 16 || asked < 50 {
		t.Errorf("%d idle nets and %d probes: the check looks at nothing", idle, asked)
	}
	if p := Check(b); len(p) != 0 {
		t.Errorf("check: %v", p)
	}
}
