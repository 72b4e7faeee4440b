package bench

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
)

// narrowers holds what was simulated of the demo boards for all tests, which run
// one after the other.
var narrowers = map[string]*suspects.Narrower{}

func session(t testing.TB, board string) *Session {
	t.Helper()
	if narrowers[board] == nil {
		narrowers[board] = suspects.New(predict.New(boardtest.Demo(t, board)))
	}
	s, err := New(narrowers[board], nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// must takes lines such as "symptom dark", "reading VBL=0V", or answers.
func must(t testing.TB, s *Session, lines ...string) {
	t.Helper()
	d := &Dialogue{Session: s}
	for _, line := range lines {
		name, isSymptom := strings.CutPrefix(line, "symptom ")
		if isSymptom {
			if err := s.Symptom(name); err != nil {
				t.Fatal(err)
			}
			continue
		}
		line = strings.TrimPrefix(line, "reading ")
		if r := d.Do(line, 100); !r.Step {
			t.Fatalf("%s: %s", line, strings.Join(r.Lines, "\n"))
		}
	}
}

// fault finds a fault of the dictionary by its name.
func fault(t testing.TB, s *Session, name string) int {
	t.Helper()
	for i, n := range s.d.Names {
		if n == name {
			return i
		}
	}
	t.Fatalf("no fault %s", name)
	return 0
}

// shown types what a probe shows on a board with a fault, -1 for a healthy one.
// It is the short form that a person would type.
func (s *Session) shown(x Step, fault int) string {
	said := said(s.b, x.Probe, s.d.Reads(x.index, fault))
	_, value, _ := strings.Cut(said, "=")
	value, _, _ = strings.Cut(value, "@")
	if i := strings.Index(value, ":"); i >= 0 {
		value = value[i+1:]
	}
	switch value {
	case "yes":
		return "y"
	case "no":
		return "n"
	case "floating":
		return "f"
	}
	return value
}

// said writes what a meter of three digits shows at a probe.
func said(b *netlist.Board, p netlist.Probe, v float64) string {
	if !math.IsInf(v, 0) {
		v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	}
	return b.Say(p, v)
}

// title names the probe of a step.
func (s *Session) title(x Step) string { return s.x.Ask(x.Probe, x.Again) }
