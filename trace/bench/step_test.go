package bench

import (
	"testing"
	"time"
)

// sitting answers a whole case.
func sitting(t testing.TB) int {
	s := session(t, "larkspur13")
	must(t, s, "symptom dark")
	n, found := play(t, s, fault(t, s, "R34:open"))
	if !found {
		t.Fatal("not found")
	}
	return n
}

// BenchmarkStep answers from the complaint to the verdict: a step is to take no
// longer than 100 ms.
func BenchmarkStep(b *testing.B) {
	sitting(b)
	steps := 0
	for b.Loop() {
		steps += sitting(b)
	}
	b.ReportMetric(1000*b.Elapsed().Seconds()/float64(steps), "ms/step")
}

// Target: 100 ms a step; thrice that is a failure, the rest is for loaded machines.
const (
	stepTarget = 100 * time.Millisecond
	stepLimit  = 3 * stepTarget
)

func TestStepIsQuick(t *testing.T) {
	for _, lines := range [][]string{
		{"symptom dark", "40k", "LID_OPEN=ohms:100k", "BL_EN=3.3V", "BL_PWM=0V"},
		// Two faults: the pairs are looked through.
		{"symptom dark", "A.0=quiet", "EDID=read", "VBL=12.2V", "VBL=ohms:40k"},
	} {
		session(t, "larkspur13")
		var worst time.Duration
		for range 3 {
			s := session(t, "larkspur13")
			var round time.Duration
			for _, line := range lines {
				start := time.Now()
				must(t, s, line)
				round = max(round, time.Since(start))
			}
			if worst == 0 || round < worst {
				worst = round
			}
		}
		t.Logf("slowest step of %v: %v", lines, worst)
		if worst > stepLimit {
			t.Errorf("a step of %v takes %v, over %v", lines, worst, stepLimit)
		}
	}
}
