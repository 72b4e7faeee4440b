package suspects

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
)

// TestNoPowerAfterADanger proposes nothing that needs power, says why, and names the
// place where the board file has one.
func TestNoPowerAfterADanger(t *testing.T) {
	for _, c := range []struct{ board, readings, says, place string }{
		{"larkspur13", "V3_RUN=ohms:0.1 EDID=unread", "V3_RUN reads 0.1 Ω: " + probe.NoPower, "C33:short"},
		{"teasel14", "VBL_SW=ohms:0.1 LIGHT=no", "VBL_SW reads 0.1 Ω: " + probe.NoPower, "C32:short"},
		{"siskin15", "VBL=ohms:0.1 EDID=unread", "VBL reads 0.1 Ω: " + probe.NoPower, "C34:short"},
		{"larkspur13", "dark VBL/BL_K4=5ohm", "VBL to BL_K4 reads 5 Ω: " + probe.NoPower, ""},
		{"siskin15", "EDID=unread ID_DAT_J=16.8V", probe.PowerGone + ": ID_DAT_J stands at about 16.8 V, as on VMAIN; " +
			"then ohms from ID_DAT_J to VMAIN", ""},
	} {
		n := demo(t, c.board)
		r := narrow(t, n, read(t, n, c.readings))
		if len(r.Dangers) != 1 {
			t.Errorf("%s %s: %d dangers", c.board, c.readings, len(r.Dangers))
			continue
		}
		for _, x := range r.Next {
			if !x.Probe.Cold() {
				t.Errorf("%s %s: %s is proposed", c.board, c.readings, n.bench.Ask(x.Probe, false))
			}
		}
		d := r.Dangers[0]
		if c.place != "" && !slices.Contains(d.Names, c.place) || d.Action == "" {
			t.Errorf("%s %s: shown by %v, then %q", c.board, c.readings, d.Names, d.Action)
		}
		var text, object bytes.Buffer
		if WriteText(&text, r) != nil || WriteJSON(&object, r) != nil {
			t.Fatal("it is not written")
		}
		flat := strings.Join(strings.Fields(text.String()), " ")
		if !strings.Contains(flat, "! "+c.says) || strings.Contains(flat, "power on") || strings.Contains(flat, probe.ReadFirst) {
			t.Errorf("%s %s: the text is\n%s", c.board, c.readings, text.String())
		}
		var j struct {
			Off []struct{ Reading, Says, Action string } `json:"keeps_power_off"`
		}
		if err := json.Unmarshal(object.Bytes(), &j); err != nil || len(j.Off) != 1 || !strings.HasPrefix(j.Off[0].Says, c.says) ||
			j.Off[0].Reading == "" || j.Off[0].Action != d.Action {
			t.Errorf("%s %s: the object has %+v, %v", c.board, c.readings, j.Off, err)
		}
	}
}

// TestPowerOnAsksForTheGateFirst names what must read right before a proposal with
// power on, until it has.
func TestPowerOnAsksForTheGateFirst(t *testing.T) {
	n := demo(t, "larkspur13")
	for _, c := range []struct {
		readings string
		want     []string
	}{
		{"dark", []string{"VBL to BL_K4", "VBL to ground"}},
		{"VBL=ohms:40k dark", []string{"VBL to BL_K4"}},
		{"VBL=ohms:40k VBL=ohms:OL unknown", []string{"VBL to BL_K4", "VBL to ground"}},
		{"VBL=ohms:40k BL_K4/VBL=OL dark", nil},
	} {
		r := narrow(t, n, read(t, n, c.readings))
		hot := 0
		for _, x := range r.Next {
			var want []string
			if r.Bench.NeedsGate(x.Probe) {
				hot++
				want = c.want
			}
			got := probe.Names(n.m.Board, r.First(x.Probe))
			if !slices.Equal(got, want) {
				t.Errorf("%s: %s asks for %v first, not for %v", c.readings, n.bench.Ask(x.Probe, false), got, want)
			}
		}
		if hot == 0 {
			t.Fatalf("%s: nothing with power on is proposed", c.readings)
		}
		var text, object bytes.Buffer
		if WriteText(&text, r) != nil || WriteJSON(&object, r) != nil {
			t.Fatal("it is not written")
		}
		line := "before any power: " + strings.Join(c.want, ", ") + "\n"
		if got := strings.Count(text.String(), line); c.want != nil && got != hot || c.want == nil &&
			strings.Contains(text.String(), "before any") {
			t.Errorf("%s: it stands %d times for %d proposals\n%s", c.readings, got, hot, text.String())
		}
		var j struct {
			Next []struct {
				State string
				First []string `json:"before_any_power"`
			}
		}
		if err := json.Unmarshal(object.Bytes(), &j); err != nil {
			t.Fatal(err)
		}
		for i, x := range j.Next {
			if diff := cmp.Diff(c.want, x.First); r.Bench.NeedsGate(r.Next[i].Probe) && diff != "" {
				t.Errorf("%s: %s", c.readings, diff)
			}
		}
	}
	// Looking needs no gate, but after liquid.
	p := netlist.Probe{Method: netlist.Look, State: netlist.Condition{Setting: n.m.Board.Usual()}}
	if narrow(t, n, nil).First(p) != nil || narrow(t, n, nil, "liquid").First(p) == nil {
		t.Error("looking is not told apart by what happened to the machine")
	}
}

// TestABridgeInTheFileIsADanger though it reads as computed.
func TestABridgeInTheFileIsADanger(t *testing.T) {
	n := New(predict.New(boardtest.Bridged(t)))
	r := narrow(t, n, read(t, n, "dark VBL/BL_K4=1ohm"))
	k := len(r.Readings) - 1
	if r.Healthy[k] || r.Fine {
		t.Error("1 ohm beside a high rail passes for healthy")
	}
	if want := "differs: a healthy board shows 20 kΩ or more"; r.Standing(k) != want {
		t.Errorf("%q, want %q", r.Standing(k), want)
	}
	if len(r.Dangers) != 1 || !slices.ContainsFunc(r.Unread(), r.Readings[k].Probe.Same) {
		t.Errorf("%d dangers, the pair is read right: %v", len(r.Dangers), r.Unread())
	}
}

// After liquid nothing that needs power is proposed, looking neither, before every pin of
// the connector and every rail has read right; then it is.
func TestAfterLiquidPowerWaitsForPinsAndRails(t *testing.T) {
	n := New(predict.New(boardtest.Demo(t, "teasel14")))
	words := "dark"
	r := narrow(t, n, read(t, n, words), "liquid")
	unread := r.Unread()
	if len(unread) < 15 || len(r.Next) == 0 {
		t.Fatalf("%d probes before any power, %d proposals", len(unread), len(r.Next))
	}
	for _, p := range unread {
		for _, x := range r.Next {
			if !x.Probe.Cold() {
				t.Fatalf("with %d to read yet, %s is proposed", len(r.Unread()), r.Bench.Ask(x.Probe, false))
			}
		}
		k := slices.IndexFunc(n.d.Probes, p.Same)
		words += " " + n.m.Board.Say(p, n.d.Reads(k, -1))
		r = narrow(t, n, read(t, n, words), "liquid")
	}
	// Power is back for a look: what needs it costs no change any more.
	r = narrow(t, n, read(t, n, words+" LIGHT=no"), "liquid")
	if len(r.Unread()) > 0 || !slices.ContainsFunc(r.Next, func(x Next) bool { return !x.Probe.Cold() }) {
		t.Errorf("%d to read yet, and no power", len(r.Unread()))
	}
}

// A suspect that may take the limit from a rail is named with what not to do, until it reads
// right; where it reads open that is a danger.
func TestASuspectThatLimitsARailIsNamed(t *testing.T) {
	n := New(predict.New(boardtest.Demo(t, "larkspur13")))
	const seen = "dark VBL=12.2V BL_EN=3.3V BL_PWM=2.3V"
	for words, want := range map[string]bool{seen: true, seen + " BL_FB=0.42V": false, "dark VBL=0V": false} {
		var text bytes.Buffer
		r := narrow(t, n, read(t, n, words))
		if err := WriteText(&text, r); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(text.String(), "! With R36 open do not power: nothing limits VBL"); got != want {
			t.Errorf("%s: it is said: %t\n%s", words, got, text.String())
		}
	}
	r := narrow(t, n, read(t, n, seen+" R36=OL"))
	hot := slices.ContainsFunc(r.Next, func(x Next) bool { return !x.Probe.Cold() })
	if len(r.Dangers) != 1 || r.Dangers[0].Unlimited == netlist.None || hot {
		t.Errorf("R36 open: %+v, next %+v", r.Dangers, r.Next)
	}
}
