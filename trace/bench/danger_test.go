package bench

import (
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/probe"
)

// TestNoPowerAfterAFailedGate answers the gate with a short: nothing that needs power
// is asked for, looking neither, until the part is named, repaired, and the gate reads
// right.
func TestNoPowerAfterAFailedGate(t *testing.T) {
	for _, c := range []struct{ board, symptom, gate, part string }{
		{"larkspur13", "black", "VBL", "C34"},
		{"larkspur13", "unknown", "VBL", "C34"},
		{"larkspur13", "white", "VBL", "C34"},
		{"teasel14", "black", "VBL_SW", "C32"},
		{"siskin15", "black", "VBL", "C34"},
		{"siskin15", "unknown", "VBL", "C34"},
	} {
		t.Run(c.board+"/"+c.symptom, func(t *testing.T) {
			s := session(t, c.board)
			short := fault(t, s, c.part+":short")
			must(t, s, "symptom "+c.symptom, c.gate+"=ohms:0.1")
			why := c.gate + " reads 0.1 Ω: " + probe.NoPower
			for range mostSteps {
				text := strings.Join(verdictLines(s), "\n")
				if !strings.Contains(text, why) || strings.Contains(text, probe.PowerUp) {
					t.Fatalf("it says\n%s", text)
				}
				if s.Step().Kind != Ask {
					break
				}
				for _, x := range append(s.Others(), s.Step()) {
					if !x.Probe.Cold() {
						t.Fatalf("%s is asked for", s.x.Ask(x.Probe, x.Again))
					}
				}
				must(t, s, s.shown(s.Step(), short))
			}
			text := strings.Join(verdictLines(s), "\n")
			if s.Step().Kind != Verdict || !strings.Contains(text, c.part+":short") || !strings.Contains(text, "to find it with all power out") {
				t.Fatalf("it says\n%s", text)
			}
			must(t, s, "r "+c.part)
			for s.Step().Probe.Cold() {
				must(t, s, s.shown(s.Step(), -1))
			}
			if s.Step().Kind != Ask || !s.gatePassed(&s.now) {
				t.Errorf("power does not come back: %s", strings.Join(verdictLines(s), "\n"))
			}
		})
	}
}

// TestLineAtARailTakesPowerOut asks for the bridge, cold, before anything else.
func TestLineAtARailTakesPowerOut(t *testing.T) {
	s := session(t, "siskin15")
	must(t, s, "symptom unknown", "ID_DAT_J=16.8V")
	text := strings.Join(verdictLines(s), "\n")
	x := s.Step()
	if x.Kind != Ask || !x.Probe.Cold() || s.b.SayPoint(x.Probe) != "ID_DAT_J/VMAIN" ||
		!strings.HasPrefix(text, "! "+probe.PowerGone+": ID_DAT_J stands at about 16.8 V, as on VMAIN") ||
		!strings.Contains(text, probe.PowerDown) ||
		!strings.Contains(text, "healthy  8") {
		t.Errorf("it says\n%s", text)
	}
	must(t, s, "5")
	text = strings.Join(verdictLines(s), "\n")
	if s.Step().Kind != Verdict || !strings.Contains(text, "ID_DAT_J to VMAIN reads 5 Ω: "+probe.NoPower) ||
		!strings.Contains(text, "magnification") {
		t.Errorf("the bridge is read, and it says\n%s", text)
	}
	must(t, s, "u", "85k")
	if len(s.now.report.Dangers) > 0 || s.Step().Kind != Ask {
		t.Errorf("no bridge is read, and it says\n%s", strings.Join(verdictLines(s), "\n"))
	}
	// Out of reach, it is not asked for, and power stays out.
	must(t, s, "u", "s")
	if x := s.Step(); x.Kind == Ask && !x.Probe.Cold() {
		t.Errorf("%s is asked for", s.x.Ask(x.Probe, x.Again))
	}
}

// TestNewFuseBeforeItsShortIsWarnedOf repairs what the short has opened.
func TestNewFuseBeforeItsShortIsWarnedOf(t *testing.T) {
	for parts, warns := range map[string]bool{"F3": true, "C34": false, "C34 F3": false} {
		s := session(t, "larkspur13")
		must(t, s, "symptom fuse", "VBL=ohms:0.1")
		text := strings.Join((&Dialogue{Session: s}).Do("r "+parts, 1000).Lines, "\n")
		if strings.Contains(text, "F3 was opened by what was not repaired, U9:output-short, C34:short, C35:short, and "+probe.Fuse) != warns {
			t.Errorf("r %s says %q", parts, text)
		}
		if !s.Step().Probe.Cold() {
			t.Errorf("after r %s it asks for %s", parts, s.x.Ask(s.Step().Probe, false))
		}
	}
}

// TestListSaysWhatTheScreenSays while a repair is being confirmed.
func TestListSaysWhatTheScreenSays(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark", "r C34")
	for range 2 {
		list := strings.Join((&Dialogue{Session: s}).Do("l", 1000).Lines, "\n")
		o := &Screen{d: &Dialogue{Session: s}}
		var rows []string
		for _, r := range o.suspectRows(1000, 8)[1:] {
			rows = append(rows, r.text)
		}
		if !strings.HasPrefix(s.lead(), "none: ") || strings.TrimSpace(list) != s.lead() || !slices.Equal(rows, []string{s.lead()}) {
			t.Errorf("l says %q, the screen %q, the line %q", list, rows, s.lead())
		}
		must(t, s, s.shown(s.Step(), -1))
	}
}

// TestUndoAsksBeforeASymptomGoes since it mostly came with the command.
func TestUndoAsksBeforeASymptomGoes(t *testing.T) {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark")
	d := &Dialogue{Session: s}
	if r := d.Do("u", 100); r.Step || len(s.Entries()) != 1 || !strings.Contains(strings.Join(r.Lines, "\n"), "u dark") {
		t.Errorf("it says %q, and %d entries are left", r.Lines, len(s.Entries()))
	}
	if r := d.Do("u dark", 100); !r.Step || len(s.Entries()) != 0 {
		t.Errorf("it says %q, and %d entries are left", r.Lines, len(s.Entries()))
	}
}

// TestDiodeModeUnderPower is answered at once.
func TestDiodeModeUnderPower(t *testing.T) {
	s := session(t, "larkspur13")
	k := slices.IndexFunc(s.d.Probes, func(p netlist.Probe) bool { return p.Method == netlist.Diode })
	s.now.step = s.step(&s.now, k, Tells)
	r := (&Dialogue{Session: s}).Do("12.6", 1000)
	if r.Step || !strings.Contains(strings.Join(r.Lines, "\n"), "power is still in: switch off, take power and battery out") {
		t.Errorf("it says %q", r.Lines)
	}
}
