package edid

import (
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/trace/panel/mode"
)

// Source of every expectation in this file: edid-decode, SHA cb74358c2896 2022-03-30
// (Debian 0.1~git20220315), run over testdata/corpus, which holds dumps of the data
// set linuxhw/EDID (CC BY 4.0) and, from 901 on, changed and invented ones.
// README.md there tells how. Each test writes what Decode found in the words of
// edid-decode and compares line by line.

// corpusDump is one dump and what edid-decode says of it, a text for each block.
type corpusDump struct {
	name   string
	data   []byte
	blocks []string
}

func readCorpus(t testing.TB) []corpusDump {
	t.Helper()
	files, err := filepath.Glob("testdata/corpus/*.hex")
	if err != nil || len(files) < 50 {
		t.Fatalf("%d dumps in testdata/corpus (%v), want at least 50", len(files), err)
	}
	var out []corpusDump
	for _, file := range files {
		text := readText(t, file)
		data, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		base := strings.TrimSuffix(file, ".hex")
		said := readText(t, base+".decoded.txt")
		out = append(out, corpusDump{filepath.Base(base), data, strings.Split(said, "\n----------------\n")})
	}
	return out
}

func readText(t testing.TB, file string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// linesLike are the lines that match, trimmed, with runs of blanks made one.
func linesLike(text, pattern string) []string {
	re := regexp.MustCompile(pattern)
	var out []string
	for line := range strings.Lines(text) {
		line = strings.Join(strings.Fields(line), " ")
		if re.MatchString(line) {
			out = append(out, line)
		}
	}
	return out
}

// each runs a comparison over the whole corpus.
func each(t *testing.T, pattern string, block func(d corpusDump) string, ours func(e *EDID) []string) {
	t.Helper()
	hits := 0
	for _, d := range readCorpus(t) {
		e := decoded(t, d.data)
		want := linesLike(block(d), pattern)
		hits += len(want)
		if diff := cmp.Diff(want, ours(e)); diff != "" {
			t.Errorf("%s: edid-decode -, Decode +:\n%s", d.name, diff)
		}
	}
	if hits == 0 {
		t.Errorf("no line of edid-decode is like %q: nothing was compared", pattern)
	}
}

func decoded(t testing.TB, data []byte) *EDID {
	t.Helper()
	e, err := Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func baseOf(d corpusDump) string { return d.blocks[0] }

func TestIdentityAsEdidDecode(t *testing.T) {
	each(t, `^(EDID Structure|Manufacturer:|Model:|Serial Number:|Made in:|Model year:)`, baseOf, func(e *EDID) []string {
		out := []string{
			fmt.Sprintf("EDID Structure Version & Revision: %d.%d", e.Version, e.Revision),
			"Manufacturer: " + e.Maker,
			fmt.Sprintf("Model: %d", e.Product),
		}
		if e.Serial != 0 {
			out = append(out, fmt.Sprintf("Serial Number: %d", e.Serial))
		}
		switch {
		case e.ModelYear:
			return append(out, fmt.Sprintf("Model year: %d", e.Year))
		case e.Week > 0:
			return append(out, fmt.Sprintf("Made in: week %d of %d", e.Week, e.Year))
		}
		return append(out, fmt.Sprintf("Made in: %d", e.Year))
	})
}

func TestDisplayAsEdidDecode(t *testing.T) {
	pattern := `^(Digital display|Analog display|Bits per|Color depth is|.* interface$|Digital interface|` +
		`Maximum image)`
	each(t, pattern, baseOf, func(e *EDID) []string {
		out := []string{"Analog display"}
		if e.Digital {
			out = []string{"Digital display"}
		}
		if e.Digital && e.is14() {
			depth, link := "Color depth is undefined", "Digital interface is not defined"
			if e.BitsPerColour > 0 {
				depth = fmt.Sprintf("Bits per primary color channel: %d", e.BitsPerColour)
			}
			if e.Interface != "" {
				link = e.Interface + " interface"
			}
			out = append(out, depth, link)
		}
		if e.WidthMM > 0 {
			out = append(out, fmt.Sprintf("Maximum image size: %d cm x %d cm", e.WidthMM/10, e.HeightMM/10))
		}
		return out
	})
}

// timingLines are the lines of a detailed timing. edid-decode gives frames of an
// interlaced one for the height, and its rate counts the half line of a field.
func timingLines(t Timing) []string {
	height, scan, rate := t.V.Active, "", t.Rate()
	if t.Interlaced {
		if strings.Contains(t.Origin, "DisplayID") { // which stores the frame
			t.V = mode.Axis{Active: t.V.Active / 2, Front: t.V.Front / 2, Sync: t.V.Sync / 2, Back: t.V.Back / 2}
		}
		height, scan, rate = 2*t.V.Active, "i", t.LineRate()/(float64(t.V.Total())+0.5)
	}
	size := ""
	if t.WidthMM > 0 || t.HeightMM > 0 {
		size = fmt.Sprintf(" %d mm x %d mm", t.WidthMM, t.HeightMM)
	}
	polarity := map[bool]string{true: "P", false: "N"}
	return []string{
		fmt.Sprintf("%dx%d%s %.6f Hz %.3f kHz %.6f MHz%s", t.H.Active, height, scan, rate, t.LineRate()/1e3, t.Clock/1e6, size),
		fmt.Sprintf("Hfront %d Hsync %d Hback %d Hpol %s", t.H.Front, t.H.Sync, t.H.Back, polarity[t.HPos]),
		fmt.Sprintf("Vfront %d Vsync %d Vback %d Vpol %s", t.V.Front, t.V.Sync, t.V.Back, polarity[t.VPos]),
	}
}

// timingsSaid are the same lines of edid-decode's text: without the number of a
// timing, its aspect ratio and its remarks, and for one field only.
func timingsSaid(text string) []string {
	head := regexp.MustCompile(`^(?:DTD|VTDB) *\d*: (\S+ [\d.]+ Hz) \d+:\d+ ([\d.]+ kHz [\d.]+ MHz)(?: \((.*)\))?$`)
	size := regexp.MustCompile(`\d+ mm x \d+ mm`)
	var out []string
	for _, line := range linesLike(text, `^(DTD|VTDB|Hfront|Vfront)`) {
		if m := head.FindStringSubmatch(line); m != nil {
			line = strings.TrimSpace(m[1] + " " + m[2] + " " + size.FindString(m[3]))
		}
		if strings.HasSuffix(line, "Even Field") {
			continue
		}
		out = append(out, ourPorches(strings.TrimSuffix(line, " Vfront +0.5 Odd Field")))
	}
	return out
}

// ourPorches puts the borders of a line of edid-decode into the back porch, where we
// have them, and names the polarity where it tells none.
func ourPorches(line string) string {
	if m := regexp.MustCompile(`^(.*back )(\d+)(.*) [HV]border (\d+)$`).FindStringSubmatch(line); m != nil {
		back, _ := strconv.Atoi(m[2])
		border, _ := strconv.Atoi(m[4])
		line = fmt.Sprint(m[1], back+2*border, m[3])
	}
	if strings.HasPrefix(line, "Vfront") && !strings.Contains(line, "Vpol") {
		line += " Vpol N"
	}
	return line
}

func allTimingLines(timings []Timing) []string {
	var out []string
	for _, t := range timings {
		out = append(out, timingLines(t)...)
	}
	return out
}

func TestTimingsAsEdidDecode(t *testing.T) {
	count := 0
	for _, d := range readCorpus(t) {
		e := decoded(t, d.data)
		said := strings.Join(d.blocks[:1+len(e.Extensions)], "\n")
		// Timings inside data blocks of CTA-861 are for television and not decoded.
		want := timingsSaid(regexp.MustCompile(`(?m)^ +VTDB .*\n( {9,}.*\n)*`).ReplaceAllString(said, ""))
		count += len(want) / 3
		if diff := cmp.Diff(want, allTimingLines(e.AllTimings())); diff != "" {
			t.Errorf("%s: edid-decode -, Decode +:\n%s", d.name, diff)
		}
	}
	if count < 90 {
		t.Errorf("%d timings compared, want at least 90", count)
	}
}
