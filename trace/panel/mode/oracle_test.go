package mode_test

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/walkback/trace/panel/mode"
)

// timing is a mode as an oracle prints it, without our words on it.
type timing struct {
	Clock      float64 // Hz
	H, V       mode.Axis
	HPos, VPos bool
}

func timingOf(m mode.Mode) timing { return timing{m.Clock, m.H, m.V, m.HPos, m.VPos} }

// lines reads a recorded file without its comments.
func lines(t *testing.T, name string) []string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []string
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if !strings.HasPrefix(sc.Text(), "# id") {
			all = append(all, sc.Text())
		}
	}
	return all
}

func scan(t *testing.T, line, format string, to ...any) {
	t.Helper()
	if n, err := fmt.Sscanf(line, format, to...); err != nil {
		t.Fatalf("%q: read %d of %d values: %v", line, n, len(to), err)
	}
}

// edidDecode reads the three lines that edid-decode prints for a mode:
//
//	DMT 0x56:  1366x768    60.000000 Hz  85:48    48.000 kHz     72.000000 MHz (RB)
//	                Hfront   14 Hsync  56 Hback   64 Hpol P
//	                Vfront    1 Vsync   3 Vback   28 Vpol P
//
// A border counts as porch.
func edidDecode(t *testing.T, three []string) (tm timing, rate float64) {
	t.Helper()
	f := strings.Fields(three[0][strings.Index(three[0], ":")+1:])
	var mhz float64
	scan(t, strings.TrimSuffix(f[0], "i"), "%dx%d", &tm.H.Active, &tm.V.Active)
	scan(t, f[1]+" "+f[6], "%f %f", &rate, &mhz)
	tm.Clock = math.Round(mhz * 1e6)
	tm.HPos = edidAxis(t, three[1], &tm.H)
	tm.VPos = edidAxis(t, three[2], &tm.V)
	return tm, rate
}

func edidAxis(t *testing.T, line string, a *mode.Axis) (positive bool) {
	t.Helper()
	f := strings.Fields(line)
	var border int
	scan(t, strings.Join([]string{f[1], f[3], f[5]}, " "), "%d %d %d", &a.Front, &a.Sync, &a.Back)
	if len(f) > 9 && strings.HasSuffix(f[8], "border") {
		scan(t, f[9], "%d", &border)
	}
	a.Front += border
	a.Back += border
	return f[7] == "P"
}
