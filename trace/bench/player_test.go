package bench

import (
	"slices"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// mostSteps bounds what a player is asked.
const mostSteps = 40

// play answers truly for a board with a fault. A player whose second proof fails
// turns a verdict down and goes on. It tells whether a verdict names the group of
// the fault, and after how many answers.
func play(t testing.TB, s *Session, fault int) (int, bool) {
	t.Helper()
	for step := range mostSteps {
		x := s.Step()
		if x.Kind == Verdict {
			if r := s.now.report; len(r.Suspects) > 0 && s.alike(r.Suspects[0].Faults[0], fault) {
				return step, true
			}
			if r := s.now.report; len(r.Dangers) > 0 && slices.Contains(r.Dangers[0].Names, s.d.Names[fault]) {
				return step, true // where only power would tell more, the place is named
			}
			if s.More() != nil { // nothing tells more
				return step, false
			}
			continue
		}
		checkGate(t, s)
		if err := s.Answer(s.shown(x, fault)); err != nil {
			t.Fatalf("%s: %v", s.title(x), err)
		}
	}
	return mostSteps, false
}

// alike reports whether a fault is of the group of another that leads, or shows at every
// probe what that one does in the size that is believed.
func (s *Session) alike(leads, fault int) bool {
	g := slices.IndexFunc(s.d.Groups, func(x predict.Group) bool { return slices.Contains(x.Faults, leads) })
	return slices.Contains(s.d.Groups[g].Faults, fault) || slices.Equal(s.now.report.Row(g), s.d.Classes[fault])
}

// checkGate fails when a probe with power on is asked for before each cold check
// of a high rail has passed.
func checkGate(t testing.TB, s *Session) {
	t.Helper()
	p := s.Step().Probe
	if len(s.now.report.Dangers) > 0 && !p.Cold() {
		t.Errorf("%s is asked for after %s", s.x.Ask(p, false), s.now.report.Readings[s.now.report.Dangers[0].Index].Text)
	}
	if p.Cold() || p.Method == netlist.Look {
		return
	}
	for _, k := range s.gates {
		if passes, _ := s.gateRead(&s.now, k); !passes {
			t.Errorf("%s is asked for before %s has passed", s.title(s.Step()), s.b.SayPoint(s.d.Probes[k]))
		}
	}
}

// complain takes what brought the board in: what is wrong without a meter, else
// the clearest reading that differs.
func complain(t testing.TB, s *Session, sign *predict.Signatures, fault int) {
	t.Helper()
	k := sign.Clearest(s.b, s.d, fault, 1)[0].Probe
	for i, p := range slices.Backward(s.d.Probes) {
		if p.Method == netlist.Look && s.d.Classes[fault][i] != s.d.Healthy[i] {
			k = i // the first of all
		}
	}
	if err := s.Read(said(s.b, s.d.Probes[k], s.d.Reads(k, fault))); err != nil {
		t.Fatal(err)
	}
}

// TestEveryTenthFaultIsFound plays for every tenth single fault that some probe
// sees. What the board shows comes from the simulation.
func TestEveryTenthFaultIsFound(t *testing.T) {
	s := session(t, "larkspur13")
	sign := s.m.Signatures(s.d)
	played, steps, nth := 0, 0, 0
	for _, g := range s.d.Groups {
		if !g.Detected {
			continue
		}
		for _, i := range g.Faults {
			if nth++; nth%10 != 1 {
				continue
			}
			s := session(t, "larkspur13")
			complain(t, s, sign, i)
			played++
			n, found := play(t, s, i)
			steps += n
			if !found {
				t.Errorf("%s is not named after %d answers", s.d.Names[i], n)
				for _, r := range s.now.readings {
					t.Log("  ", r.Text)
				}
				t.Log("  ", s.lead())
			}
		}
	}
	if played < 20 {
		t.Errorf("only %d faults were played", played)
	}
	t.Logf("%d faults, %.1f answers on average", played, float64(steps)/float64(played))
}
