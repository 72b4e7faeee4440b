package suspects

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/trace/predict"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

// TestStories tells what a symptom and a few readings come to. What each fault
// does to the readings follows from the circuit; common practice, no source.
func TestStories(t *testing.T) {
	for _, c := range []struct{ board, readings, leads string }{
		{"larkspur13", "dark VBL=12.2V BL_EN=3.3V BL_PWM=0V BL_PWM_S=2.3V", "R34:open"},
		{"larkspur13", "dark VBL=12.2V BL_EN=3.3V BL_PWM=2.3V BL_FB=11.1V", "R37:open"},
		{"larkspur13", "dark VBL=0V VBL_SW=12.6V L4=OL", "L4:open"},
		{"larkspur13", "lid V3_STAY=3.3V LID_OPEN=0V LID_OPEN=ohms:0.3", "C11:short"},
		{"larkspur13", "fuse VMAIN=12.6V VBL=ohms:0.2ohm", "C34:short"},
		{"larkspur13", "band LIGHT=yes", "DS91.P_K3:open"},
		{"larkspur13", "unknown V3_ID=0V V3_RUN=3.3V FB2=OL", "FB2:open"},
		{"larkspur13", "unknown V3_ID=3.3V ID_CLK=3.3V ID_CLK_J=floating FL5=OL", "FL5:open"},
		{"siskin15", "dark VBL=0V VBL_F=16.8V L4=OL", "L4:open"},
		{"siskin15", "stuck GPU_SEL=3.3V PICTURE=yes@gpu=fast", "U8.GPU_SEL:stuck-high"},
		{"teasel14", "dark VBL_SW=0V VBL_F=8.4V BL_ON_N=0V", "Q5:open"},
	} {
		n := demo(t, c.board)
		r := narrow(t, n, read(t, n, c.readings))
		if len(r.Suspects) == 0 || !slices.Contains(r.Suspects[0].Names, c.leads) {
			t.Errorf("%s %s: %s does not lead", c.board, c.readings, c.leads)
			for _, s := range r.Suspects[:min(3, len(r.Suspects))] {
				t.Logf("  %.2f %s against %s", s.P, Short(s.Names), r.Texts(s.Against))
			}
		}
	}
}

func TestSharesSumToOne(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		for i := range n.m.Board.Symptoms {
			r := narrow(t, n, read(t, n, n.m.Board.Symptoms[i].Name))
			sum := r.Other + r.Rest
			for _, s := range r.Suspects {
				sum += s.P
			}
			for _, p := range r.Pairs {
				sum += p.P
			}
			if math.Abs(sum-1) > 1e-9 {
				t.Errorf("%s %s: the shares make %v", name, n.m.Board.Symptoms[i].Name, sum)
			}
			if r.Other <= 0 {
				t.Errorf("%s: nothing is left for a cause that is not listed", name)
			}
		}
	}
}

// TestTwoFaultsComeOutAsAPair reads boards with two faults at the places where
// either shows.
func TestTwoFaultsComeOutAsAPair(t *testing.T) {
	for _, c := range []struct{ board, first, second, where string }{
		{"larkspur13", "L4:open", "FB2:open", "VBL BL_LX VBL_SW LIGHT V3_ID EDID V3_RUN L4 FB2"},
		{"siskin15", "L4:open", "FL7.B1P:open", "VBL BL_LX VBL_F LIGHT B1P_J B1P B1N_J B0P_J L4 COLOUR FL7.B1P B1P_J/B1N_J B1P/B1P_J"},
	} {
		n := demo(t, c.board)
		a, errA := n.m.ParseFault(c.first)
		b, errB := n.m.ParseFault(c.second)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		h := n.m.Suppose(a[0], b[0])
		run := n.m.Run(netlist.Condition{Setting: n.m.Board.Usual()}, h)
		var list []netlist.Reading
		for _, place := range strings.Fields(c.where) {
			r, err := n.m.Board.ParseReading(place+"=0.1", n.m.Board.Usual())
			if err != nil {
				if r, err = n.m.Board.ParseReading(place+"=ok", n.m.Board.Usual()); err != nil {
					t.Fatal(err)
				}
				r.Probe.Method = netlist.Look
			}
			v := 0.0
			if r.Probe.Cold() {
				v = n.m.Cold(true, h).Value(r.Probe)
			} else {
				v = run.Value(r.Probe)
			}
			list = append(list, read(t, n, said(n.m.Board, r.Probe, v))...)
		}
		r := narrow(t, n, list)
		if r.Single || r.Leads() != TwoLead || len(r.Pairs) == 0 {
			t.Errorf("%s %s with %s: a pair does not lead, %s", c.board, c.first, c.second, r.Texts(allOf(len(list))))
			continue
		}
		p := r.Pairs[0].Names
		one := slices.Contains(p[0], c.first) && slices.Contains(p[1], c.second)
		other := slices.Contains(p[0], c.second) && slices.Contains(p[1], c.first)
		if !one && !other {
			t.Errorf("%s: %s with %s come out as %v", c.board, c.first, c.second, p)
		}
	}
}

// TestNoPairWhereOneFaultIsEnough since a second fault must earn its place.
func TestNoPairWhereOneFaultIsEnough(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		for _, s := range n.m.Board.SymptomNames() {
			if r := narrow(t, n, read(t, n, s)); r.Single && len(r.Pairs) > 0 {
				t.Errorf("%s %s: pairs beside a single fault", name, s)
			}
		}
	}
}

func TestReadingsThatClash(t *testing.T) {
	n := demo(t, "larkspur13")
	r := narrow(t, n, read(t, n, "LIGHT=yes V3_RUN=3.3V VBL=31.5V VBL=0V"))
	if diff := cmp.Diff([][]int{{2, 3}}, r.Clash); diff != "" {
		t.Error(diff)
	}
	r = narrow(t, n, read(t, n, "V3_RUN=99V LIGHT=no"))
	if diff := cmp.Diff([][]int{{0}}, r.Clash); diff != "" {
		t.Error(diff)
	}
}

func TestHistoryShiftsTheWeights(t *testing.T) {
	n := demo(t, "larkspur13")
	share := func(word string, history ...string) float64 {
		r := narrow(t, n, read(t, n, "dark VBL=12.2V"), history...)
		p := 0.0
		for _, s := range r.Suspects {
			if strings.Contains(Short(s.Names), word) {
				p += s.P
			}
		}
		return p
	}
	if a, b := share("R36"), share("R36", "repair"); b <= a {
		t.Errorf("a repair before makes R36 no likelier: %v, then %v", a, b)
	}
	if a, b := share("U9"), share("U9", "panel"); b <= a {
		t.Errorf("a changed panel makes U9 no likelier: %v, then %v", a, b)
	}
	if _, err := n.Narrow(nil, []string{"licuid"}); err == nil || !strings.Contains(err.Error(), `did you mean "liquid"?`) {
		t.Errorf("licuid: %v", err)
	}
}

// TestAnOpenFuseIsNotTheCause before what could have blown it was ruled out: common
// practice, no source.
func TestAnOpenFuseIsNotTheCause(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		p := newPlayer(n)
		fault := slices.Index(n.d.Names, "F3:open")
		list := read(t, n, "LIGHT=no VBL_F=0V F3=OL")
		led, sought := 0, false
		for range mostProbes {
			r := narrow(t, n, list)
			if len(r.Next) == 0 {
				break
			}
			if r.Leads() == OneLeads && slices.Contains(r.Suspects[0].Names, "F3:open") {
				led++
				if r.Fuse == nil {
					t.Fatalf("%s: F3:open leads without a word", name)
				}
				// What no probe tells from the open fuse cannot be ruled out.
				sought = !slices.ContainsFunc(r.Fuse.Unsought, func(name string) bool {
					id, _ := n.m.Board.Part(name)
					return !slices.Contains(r.Suspects[0].Parts, id)
				})
				if r.Fuse.Probe == 0 && r.Next[0].Probe.Method != netlist.Ohms {
					t.Errorf("%s: a short is sought with %v", name, r.Next[0].Probe.Method)
				}
			} else if r.Fuse != nil {
				t.Errorf("%s: a fuse that does not lead is spoken of", name)
			}
			list = append(list, p.read(t, fault, r.Next[0].Probe))
		}
		if led == 0 || !sought {
			t.Errorf("%s: F3:open led %d times; every short behind it was sought: %v", name, led, sought)
			t.Log(narrow(t, n, list).Texts(allOf(len(list))))
		}
	}
}

// TestAReadingWhereThePointIsNotValid keeps a reading from being called bad where a
// healthy board has nothing to read: common practice, no source.
func TestAReadingWhereThePointIsNotValid(t *testing.T) {
	n := demo(t, "larkspur13")
	r := narrow(t, n, read(t, n, "LIGHT=no@lid=shut VBL=0V@power=sleep BL_EN=3.3V@lid=shut V3_STAY=3.3V@lid=shut LIGHT=no"))
	if diff := cmp.Diff([]bool{true, true, true, false, false}, r.Absent); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]bool{true, true, false, true, false}, r.Healthy); diff != "" {
		t.Error(diff)
	}
}

func TestTheSameReadingsGiveTheSameReport(t *testing.T) {
	m := predict.New(boardtest.Demo(t, "siskin15"))
	var texts [2]bytes.Buffer
	for i := range texts {
		n := New(m)
		if i == 1 {
			narrow(t, n, read(t, n, "dark")) // what was asked before does not count
		}
		if err := WriteJSON(&texts[i], narrow(t, n, read(t, n, "two"))); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(texts[0].String(), texts[1].String()); diff != "" {
		t.Error(diff)
	}
}

func TestReportsFitThePage(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		for _, s := range n.m.Board.SymptomNames() {
			var text, data bytes.Buffer
			r := narrow(t, n, read(t, n, s))
			if err := WriteText(&text, r); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(text.String(), "\n") {
				if say.Columns(line) > say.Width {
					t.Errorf("%s %s: %d columns: %s", name, s, say.Columns(line), line)
				}
			}
			for _, x := range r.Next {
				if x.Probe.Cold() != strings.Contains(probe.Condition(r.Board, x.Probe), probe.PowerOut) {
					t.Errorf("%s %s: %s in the wrong state", name, s, probe.At(r.Board, x.Probe))
				}
			}
			if err := WriteJSON(&data, r); err != nil || !json.Valid(data.Bytes()) {
				t.Errorf("%s %s: no JSON: %v", name, s, err)
			}
		}
	}
}
