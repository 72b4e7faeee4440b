package edid

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

var update = flag.Bool("update", false, "write the golden texts of Text anew")

// encodeDTD is the opposite of decodeDTD, for numbers that fit.
func encodeDTD(t Timing, flags byte) []byte {
	clock := int(t.Clock / 10e3)
	hb, vb := t.H.Blank(), t.V.Blank()
	pair := func(a, b int) byte { return byte(a>>8)<<4 | byte(b>>8) }
	return []byte{
		byte(clock), byte(clock >> 8),
		byte(t.H.Active), byte(hb), pair(t.H.Active, hb),
		byte(t.V.Active), byte(vb), pair(t.V.Active, vb),
		byte(t.H.Front), byte(t.H.Sync), byte(t.V.Front)<<4 | byte(t.V.Sync)&15,
		byte(t.H.Front>>8)<<6 | byte(t.H.Sync>>8)<<4 | byte(t.V.Front>>4)<<2 | byte(t.V.Sync>>4),
		byte(t.WidthMM), byte(t.HeightMM), pair(t.WidthMM, t.HeightMM),
		0, 0, flags,
	}
}

func TestDetailedTimingComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		upTo := func(name string, limit int) int { return rapid.IntRange(0, limit).Draw(t, name) }
		axis := func(name string, limit int) mode.Axis {
			a := mode.Axis{Active: upTo(name+" active", 4095), Front: upTo(name+" front", limit), Sync: upTo(name+" sync", limit)}
			a.Back = rapid.IntRange(0, 4095-a.Front-a.Sync).Draw(t, name+" back")
			return a
		}
		want := Timing{
			Mode: mode.Mode{
				Clock: float64(upTo("clock", 65535)) * 10e3, H: axis("across", 1023), V: axis("down", 63),
				HPos: rapid.Bool().Draw(t, "hsync"), VPos: rapid.Bool().Draw(t, "vsync"),
			},
			WidthMM: upTo("width", 4094), HeightMM: upTo("height", 4094), Interlaced: rapid.Bool().Draw(t, "interlaced"),
		}
		flags := byte(0x18)
		for bit, on := range map[byte]bool{0x80: want.Interlaced, 4: want.VPos, 2: want.HPos} {
			if on {
				flags |= bit
			}
		}
		if diff := cmp.Diff(want, decodeDTD(encodeDTD(want, flags))); diff != "" {
			t.Fatalf("encoded -, decoded +:\n%s", diff)
		}
	})
}

func TestTypeITimingComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) mode.Axis {
			part := func(what string, limit int) int { return rapid.IntRange(1, limit).Draw(t, name+what) }
			return mode.Axis{Active: part("active", 65536), Front: part("front", 20000), Sync: part("sync", 20000), Back: part("back", 20000)}
		}
		want := Timing{Mode: mode.Mode{H: axis("across"), V: axis("down"), HPos: rapid.Bool().Draw(t, "hsync"), Origin: "here 1"}}
		clock := rapid.IntRange(1, 1<<24).Draw(t, "clock")
		want.Clock = float64(clock) * 1e3
		put := func(n int, top bool) []byte {
			n--
			if top {
				n |= 0x8000
			}
			return []byte{byte(n), byte(n >> 8)}
		}
		b := []byte{byte(clock - 1), byte((clock - 1) >> 8), byte((clock - 1) >> 16), 0}
		want.VPos = rapid.Bool().Draw(t, "vsync")
		for i, a := range []mode.Axis{want.H, want.V} {
			positive := []bool{want.HPos, want.VPos}[i]
			b = append(b, bytes.Join([][]byte{put(a.Active, false), put(a.Blank(), false), put(a.Front, positive), put(a.Sync, false)}, nil)...)
		}
		if diff := cmp.Diff([]Timing{want}, decodeTypeI(b, 1e3, "here")); diff != "" {
			t.Fatalf("encoded -, decoded +:\n%s", diff)
		}
	})
}

func TestNothingToDecode(t *testing.T) {
	if e, err := Decode(nil); !errors.Is(err, ErrEmpty) || e != nil {
		t.Errorf("Decode(nil) = %v, %v, want ErrEmpty", e, err)
	}
}

// corpusBytes is one dump of the corpus by its number.
func corpusBytes(t testing.TB, name string) []byte {
	t.Helper()
	for _, d := range readCorpus(t) {
		if d.name == name {
			return d.data
		}
	}
	t.Fatalf("no dump %s", name)
	return nil
}

// TestCutOffData takes ever less of a dump: what is whole stays, nothing is made up.
func TestCutOffData(t *testing.T) {
	data := corpusBytes(t, "037")
	whole := decoded(t, data)
	if whole.Truncated || len(whole.Extensions) != 2 {
		t.Fatalf("the whole dump: truncated %v, %d extensions", whole.Truncated, len(whole.Extensions))
	}
	for n := 1; n < len(data); n++ {
		e := decoded(t, data[:n])
		if !e.Truncated {
			t.Fatalf("%d bytes are said to be whole", n)
		}
		if len(e.Extensions) != max(n/BlockSize-1, 0) {
			t.Fatalf("%d bytes: %d extensions", n, len(e.Extensions))
		}
		if len(e.Timings) > 0 {
			if diff := cmp.Diff(whole.Timings, e.Timings); diff != "" {
				t.Fatalf("%d bytes: timings differ:\n%s", n, diff)
			}
		}
		if n >= 72 && len(e.Timings) == 0 {
			t.Fatalf("%d bytes: the timing is gone", n)
		}
		if len(e.Timings) > 0 && n < 72 {
			t.Fatalf("%d bytes: a timing out of a place that is cut off", n)
		}
	}
}

func TestSurplusIsNotDecoded(t *testing.T) {
	if e := decoded(t, corpusBytes(t, "008")); e.Bytes != 256 || len(e.Extensions) != 0 || e.Truncated {
		t.Errorf("%d bytes, %d extensions, truncated %v; want 256, 0, false", e.Bytes, len(e.Extensions), e.Truncated)
	}
}

func TestPreferred(t *testing.T) {
	for _, c := range []struct {
		name, dump, want string
		clear            bool // the timings of the base block
	}{
		{name: "of the base block", dump: "018", want: "base block, detailed timing 1"},
		{name: "of DisplayID", dump: "018", clear: true, want: "block 1, DisplayID type I timing 1"},
		{name: "of CTA-861, none marked", dump: "030", clear: true, want: "block 1, CTA-861 detailed timing 1"},
		{name: "none at all", dump: "016"},
	} {
		data := bytes.Clone(corpusBytes(t, c.dump))
		if c.clear {
			clear(data[54:126])
		}
		best, ok := decoded(t, data).Preferred()
		if best.Origin != c.want || ok != (c.want != "") {
			t.Errorf("%s: %q, %v, want %q", c.name, best.Origin, ok, c.want)
		}
	}
}

func TestPower(t *testing.T) {
	// The numbers put in by make.py: 5 tenths, 10, 45 and 40 times 2 ms, 100, 40 and 33 times 10 ms.
	want := PowerSequence{
		T1: Span{0.0005, 0.020}, T2: Span{0, 0.090}, T3: Span{0, 0.080}, T4: Span{Min: 1}, T5: Span{Min: 0.4}, T6: Span{Min: 0.33},
	}
	told := func(dump string) (list []*PowerSequence) {
		for _, x := range decoded(t, corpusBytes(t, dump)).Extensions {
			if x.Power != nil {
				list = append(list, x.Power)
			}
		}
		return list
	}
	if diff := cmp.Diff([]*PowerSequence{&want}, told("903")); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
	if told("018") != nil {
		t.Error("a dump without the block has a power sequence")
	}
}

// checkText fails for a line that is too wide and for runes that can control a
// terminal.
func checkText(t testing.TB, name, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if n := utf8.RuneCountInString(line); n > say.Width {
			t.Errorf("%s: %d columns: %s", name, n, line)
		}
		for _, r := range line {
			if !unicode.IsPrint(r) {
				t.Errorf("%s: the text has %U", name, r)
			}
		}
	}
}

func render(t testing.TB, data []byte) string {
	t.Helper()
	var b strings.Builder
	o := say.NewWriter(&b)
	Text(o, decoded(t, data))
	if err := o.Flush(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestMutatedDumps changes bytes of every dump, cuts some off, and reads the rest.
func TestMutatedDumps(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 128))
	changed := 0
	for _, d := range readCorpus(t) {
		for range 20 {
			data := bytes.Clone(d.data)
			for range 1 + rnd.IntN(16) {
				data[rnd.IntN(len(data))] = byte(rnd.Uint32())
			}
			if rnd.IntN(4) == 0 {
				data = data[:1+rnd.IntN(len(data))]
			}
			text := render(t, data)
			checkText(t, d.name, text)
			if strings.Contains(text, "back -") || strings.Contains(text, "4095 mm") {
				t.Errorf("%s: an impossible number is shown:\n%s", d.name, text)
			}
			if _, err := json.Marshal(decoded(t, data)); err != nil {
				t.Errorf("%s: %v", d.name, err)
			}
			changed++
		}
	}
	if changed < 500 {
		t.Errorf("%d changed dumps, want at least 500", changed)
	}
}

// TestHostileStrings puts an escape sequence where the name of a panel stands.
func TestHostileStrings(t *testing.T) {
	data := bytes.Clone(corpusBytes(t, "022"))
	copy(data[113:], "\x1b[2J\x07\x9b31m\xff")
	text := render(t, data)
	checkText(t, "hostile", text)
	if !strings.Contains(text, `\x1B[2J\x07\x9B31m\xFF`) {
		t.Errorf("the name is not shown escaped:\n%s", text)
	}
}

// rowOf is the row of a text with a label, and those below it without one, unwrapped.
func rowOf(text, label string) string {
	row := ""
	for line := range strings.Lines(text) {
		switch {
		case strings.HasPrefix(line, label):
			row = line[len(label):]
		case row != "" && strings.HasPrefix(line, strings.Repeat(" ", 10)):
			row += "/ " + line
		case row != "":
			return strings.Join(strings.Fields(row), " ")
		}
	}
	return ""
}

func TestSizeOfTwoSources(t *testing.T) {
	const base = "340 x 190 mm by the base block, diagonal 15.3 inch"
	for _, c := range []struct {
		name           string
		cmW, cmH       byte
		width, height  int // mm, of the timing
		size, ofTiming string
	}{
		{"agree", 34, 19, 344, 194, "344 x 194 mm, diagonal 15.5 inch", "344 x 194 mm, preferred"},
		{"a centimetre larger", 34, 19, 350, 200, "350 x 200 mm, diagonal 15.9 inch", "350 x 200 mm, preferred"},
		{"too wide", 34, 19, 351, 190, base, "351 x 190 mm, preferred"},
		{"too high", 34, 19, 340, 201, base, "340 x 201 mm, preferred"},
		{"smaller", 34, 19, 305, 171, base, "305 x 171 mm, preferred"},
		{"none in the timing", 34, 19, 0, 0, base, "preferred"},
		{"none in the base block", 0, 0, 344, 194, "344 x 194 mm, diagonal 15.5 inch", "344 x 194 mm, preferred"},
		{"all ones", 34, 19, 4095, 4095, base, "preferred"},
		{"all ones alone", 0, 0, 4095, 190, "", "preferred"},
	} {
		data := bytes.Clone(corpusBytes(t, "018"))
		data[21], data[22] = c.cmW, c.cmH
		data[66], data[67], data[68] = byte(c.width), byte(c.height), byte(c.width>>8)<<4|byte(c.height>>8)
		text := render(t, data)
		if got := rowOf(text, "size"); got != c.size {
			t.Errorf("%s: size %q, want %q", c.name, got, c.size)
		}
		if got := rowOf(text, "  2560x1440"); !strings.HasSuffix(got, "/ "+c.ofTiming) {
			t.Errorf("%s: timing %q, want at the end %q", c.name, got, c.ofTiming)
		}
	}
}

func TestSizeOfDisplayIDInOnes(t *testing.T) {
	data := bytes.Clone(corpusBytes(t, "903"))
	at := bytes.Index(data[128:], []byte{0x01, 0, 12}) + 128 + 3 // the display parameters
	data[at], data[at+1] = 0xff, 0xff
	if text := render(t, data); !strings.Contains(text, "  display           1920 x 1080 pixels") {
		t.Error(text)
	}
}

func TestImpossibleTimings(t *testing.T) {
	const sync = "the sync pulse does not fit into the blanking"
	fine := mode.Mode{Clock: 71e6, H: mode.Axis{Active: 1280, Front: 48, Sync: 32, Back: 80}, V: mode.Axis{Active: 800, Front: 3,
		Sync: 6, Back: 14}}
	for _, c := range []struct {
		name   string
		change func(m *Timing)
		want   string
		lines  []string // of Text
	}{
		{"fine", func(*Timing) {}, "", []string{"1280x800 59.910 Hz", "1280 and 160 blank: front 48, sync 32 (-), back 80; total 1440"}},
		{"no porch is left", func(m *Timing) { m.H.Back = 0 }, "", []string{"back 0; total 1360"}},
		{"across", func(m *Timing) { m.H.Sync, m.H.Back = 367, -255 }, sync,
			[]string{"1280x800 impossible: " + sync + "; pixel clock 71.000 MHz", "1280 and 160 blank: front 48, sync 367 (-) want 415"}},
		{"down", func(m *Timing) { m.V.Sync, m.V.Back = 21, -1 }, sync, []string{"800 and 23 blank: front 3, sync 21 (-) want 24"}},
		{"no pixels", func(m *Timing) { m.H.Active = 0 }, "no active pixels", []string{"0x800 impossible: no active pixels"}},
		{"no lines", func(m *Timing) { m.V.Active = 0 }, "no active lines", []string{"1280x0 impossible: no active lines"}},
		{"fields", func(m *Timing) { m.Interlaced = true }, "interlaced, which no panel is", []string{"1280x800 impossible: interlaced"}},
	} {
		timing, flags := Timing{Mode: fine}, byte(0x18)
		c.change(&timing)
		if timing.Interlaced {
			flags |= 0x80
		}
		if got := timing.Impossible(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		data := bytes.Clone(corpusBytes(t, "012"))
		copy(data[54:], encodeDTD(timing, flags))
		e := decoded(t, data)
		if diff := cmp.Diff(timing.Mode, e.Timings[0].Mode, cmpopts.IgnoreFields(mode.Mode{}, "Origin")); diff != "" {
			t.Errorf("%s: the data does not keep the mode: %s", c.name, diff)
		}
		text := strings.Join(strings.Fields(render(t, data)), " ")
		for _, line := range c.lines {
			if !strings.Contains(text, line) {
				t.Errorf("%s: no %q in %s", c.name, line, text)
			}
		}
		if c.want == "" == strings.Contains(text, "impossible") || strings.Contains(text, "back -") {
			t.Errorf("%s: %s", c.name, text)
		}
	}
}

// Fields of DisplayID are no mode of a panel either.
func TestImpossibleFieldStaysSo(t *testing.T) {
	b := make([]byte, 20)
	b[3] = 0x10 // interlaced
	// Blanking 10, front 5, sync 4, each less 1.
	copy(b[12:], []byte{99, 0, 9, 0, 4, 0, 3, 0})
	copy(b[4:], []byte{99, 0, 9, 0, 4, 0, 3, 0})
	if got := decodeTypeI(b, 1e3, "here"); len(got) != 1 || got[0].Impossible() != "interlaced, which no panel is" {
		t.Errorf("%+v", got)
	}
}

func TestTextOfDumps(t *testing.T) {
	for _, name := range []string{"018", "903", "906", "037"} {
		got := render(t, corpusBytes(t, name))
		checkText(t, name, got)
		file := "testdata/text/" + name + ".txt"
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if diff := cmp.Diff(readText(t, file), got); diff != "" {
			t.Errorf("%s: golden -, now +:\n%s", name, diff)
		}
	}
}

// TestJSONShape pins the names that other programs read.
func TestJSONShape(t *testing.T) {
	b, err := json.Marshal(decoded(t, corpusBytes(t, "903")))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Maker   string `json:"maker"`
		Bits    int    `json:"bits_per_colour"`
		Width   int    `json:"width_millimetres"`
		Timings []struct {
			Clock      float64 `json:"clock_hertz"`
			Horizontal struct {
				Active int `json:"active"`
			} `json:"horizontal"`
			Width     int  `json:"width_millimetres"`
			Preferred bool `json:"preferred"`
		} `json:"timings"`
		Descriptors []struct {
			Name string `json:"name"`
			Text string `json:"text"`
		} `json:"descriptors"`
		Extensions []struct {
			Power struct {
				T4 struct {
					Min float64 `json:"min_seconds"`
				} `json:"t4"`
			} `json:"power_sequence"`
		} `json:"extensions"`
	}
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	timing, text := got.Timings[0], got.Descriptors[0]
	maker := recorded(t, "903", `Manufacturer: (\w{3})`)
	if got.Maker != maker || got.Bits != 8 || got.Width != 310 || timing.Clock != 141e6 || timing.Horizontal.Active != 1920 ||
		timing.Width != 309 || !timing.Preferred || text.Name != "text" || text.Text != maker ||
		got.Extensions[0].Power.T4.Min != 1 {
		t.Errorf("JSON is read as %+v", got)
	}
}

func FuzzDecode(f *testing.F) {
	for _, d := range readCorpus(f) {
		f.Add(d.data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := Decode(data); err != nil {
			if len(data) > 0 {
				t.Fatalf("%d bytes: %v", len(data), err)
			}
			return
		}
		checkText(t, "fuzzed", render(t, data))
	})
}

// recorded returns what edid-decode said of a dump, by a pattern with one group.
func recorded(t *testing.T, name, pattern string) string {
	t.Helper()
	data, err := os.ReadFile("testdata/corpus/" + name + ".decoded.txt")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(pattern).FindSubmatch(data)
	if m == nil {
		t.Fatalf("%s: nothing is recorded for %s", name, pattern)
	}
	return string(m[1])
}
