package netlist

import (
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"github.com/google/go-cmp/cmp"
)

const twoChannels = `board pair "Two channels"
state power run off
net GND ground
net V3 3.3V
supply PS1 -> V3
net A_S 1.2V swing=0.35V
net B_S 1.2V swing=0.35V
    expect 0V when power=off
source U1 vdd=V3 gnd=GND
    sends A_S B_S when power=run
ferrite FB1 A_S -> A_J
ferrite FB2 B_S -> B_J
connector J1 A_J -> P_A
connector J2 B_J -> P_B
resistor R1 V3 -> B_J 10k
lane A.0 P_A
lane B.0 P_B
panel DS1 vdd=V3 gnd=GND io=P_A,P_B
    makes PICTURE when A.0
    makes BOTH when PICTURE & (A.0 | B.0)
    makes ONE when !B.0
    makes TWO when PICTURE & !(B.0 & power=off)
stage 1 "lanes" A.0 B.0
`

func readIdle(t *testing.T) *Board {
	t.Helper()
	b, problems := Read("pair.board", twoChannels)
	for _, p := range problems {
		if p.Severity == mistake.Error {
			t.Fatal(p.Report())
		}
	}
	return b
}

func TestWithTakesALaneOutOfConditionsAndSenders(t *testing.T) {
	b := readIdle(t)
	before := b.File().Src
	left := b.With(Panel{Words: "a panel with one channel", Idle: []int{1}, Rates: map[int]float64{0: 70e6}})
	var rules []string
	for _, p := range left.Parts {
		for _, r := range p.Rules {
			var nets []string
			for _, n := range r.Nets {
				nets = append(nets, left.Nets[n].Name)
			}
			rules = append(rules, strings.TrimSpace(r.Word+" "+strings.Join(nets, " "))+" when "+left.ExprText(r.When))
		}
	}
	want := []string{
		"sends A_S when power=run", "sends B_S when never with this panel",
		"makes when A.0", "makes when PICTURE & A.0", "makes when always", "makes when PICTURE & !power=off",
	}
	if diff := cmp.Diff(want, rules); diff != "" {
		t.Errorf("rules (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"B.0"}, left.IdleLanes()); diff != "" {
		t.Error(diff)
	}
	if got := len(left.Stages[0].Targets); got != 1 {
		t.Errorf("the stage still asks for %d lanes", got)
	}
	for name, swings := range map[string]bool{"A_S": true, "A_J": true, "P_A": true, "B_S": false, "B_J": false, "P_B": false, "V3": false} {
		id, _ := left.Net(name)
		e, ok := left.ExpectIn(id, left.Usual())
		if !ok || (e.Swing != 0) != swings {
			t.Errorf("%s: expect %+v, known %v; swings should be %v", name, e, ok, swings)
		}
	}
	if id, _ := left.Net("V3"); left.Nets[id].Expect[0].Value != 3.3 {
		t.Error("the rail behind a pull-up was taken for a conductor")
	}
	for name, rate := range map[string]float64{"A_S": 70e6, "A_J": 70e6, "P_A": 70e6, "B_S": 0, "V3": 0} {
		id, _ := left.Net(name)
		if got := left.Nets[id].Expect[0].Rate; got != rate {
			t.Errorf("%s runs at %g Hz, want %g", name, got, rate)
		}
	}
	// The board that was given stays as it was.
	if b.Panel != "" || b.Lanes[1].Idle || len(b.Stages[0].Targets) != 2 || len(b.Parts[1].Rules) != 1 || b.File().Src != before {
		t.Error("With changed its board")
	}
	if again := readIdle(t); cmp.Diff(again.Nets, b.Nets) != "" {
		t.Error("With changed the nets of its board")
	}
}

func TestWhatIsSeenOnALeftLane(t *testing.T) {
	left := readIdle(t).With(Panel{Words: "one channel", Idle: []int{1}})
	for word, alive := range map[string]bool{"quiet": false, "dead": false, "ok": false, "toggling": true, "alive": true, "wrong": true} {
		o, err := left.Observe("B.0", word, left.Usual())
		if alive != (err != nil && strings.Contains(err.Error(), "another panel is fitted")) {
			t.Errorf("B.0=%s: error %v", word, err)
		}
		if o.Wrong && err == nil {
			t.Errorf("B.0=%s is wrong, though the panel does not use the lane", word)
		}
	}
	if _, err := left.Observe("B_J", "1.2V", left.Usual()); err == nil || !strings.Contains(err.Error(), "does not use the lane on B_J") {
		t.Errorf("a level on a conductor of an unused lane: %v", err)
	}
	if _, err := left.Observe("A_J", "1.2V", left.Usual()); err != nil {
		t.Errorf("a level on a conductor that is used: %v", err)
	}
	if o, _ := left.Observe("A.0", "quiet", left.Usual()); !o.Wrong {
		t.Error("A.0 quiet is right, though the panel uses it")
	}
}

// writtenHead is what a text about a board begins with.
func writtenHead(b *Board) string {
	var s strings.Builder
	o := say.NewWriter(&s)
	b.WriteHead(o)
	_ = o.Flush() // a strings.Builder takes all
	return s.String()
}

func TestHeadNamesTheLeftLanes(t *testing.T) {
	b := readIdle(t)
	if got, want := writtenHead(b), "pair  Two channels\n"; got != want {
		t.Errorf("head %q, want %q", got, want)
	}
	want := "pair  Two channels\npanel     one channel; quiet, and with this panel that is right: B.0\n"
	if got := writtenHead(b.With(Panel{Words: "one channel", Idle: []int{1}})); got != want {
		t.Errorf("head %q, want %q", got, want)
	}
	if got := writtenHead(b.With(Panel{Words: "two channels"})); got != "pair  Two channels\n" {
		t.Errorf("a panel that uses every lane is no news: %q", got)
	}
	if got, want := writtenHead(b.With(Panel{Words: "both", Shown: true})), "pair  Two channels\npanel     both\n"; got != want {
		t.Errorf("head %q, want %q", got, want)
	}
}

// A conductor that an idle lane shares with one that is needed stays alive.
func TestASharedConductorStaysAlive(t *testing.T) {
	text := strings.NewReplacer("    sends A_S B_S when", "    sends A_S when", "ferrite FB2 B_S -> B_J",
		"ferrite FB2 A_S -> B_J").Replace(twoChannels)
	b, problems := Read("pair.board", text)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	left := b.With(Panel{Words: "one channel", Idle: []int{1}})
	for _, name := range []string{"A_S", "A_J", "P_A"} {
		id, _ := left.Net(name)
		if left.Nets[id].Expect[0].Swing == 0 || left.Nets[id].Idle {
			t.Errorf("%s is silenced, though lane A.0 needs it", name)
		}
	}
	if got := left.ExprText(left.Parts[1].Rules[0].When); got != "power=run" {
		t.Errorf("U1 sends %s", got)
	}
}
