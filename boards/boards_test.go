package boards

import (
	"flag"
	"os"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist"
)

var update = flag.Bool("update", false, "rewrite the board files in canonical form")

// read returns a demo board that is free of problems.
func read(t *testing.T, name string) *netlist.Board {
	t.Helper()
	src, ok := Source(name)
	if !ok {
		t.Fatalf("no source for %s", name)
	}
	board, problems := netlist.Read(name+suffix, src)
	for _, p := range problems {
		t.Error(p.Report())
	}
	if t.Failed() {
		t.FailNow()
	}
	return board
}

func partsOf(b *netlist.Board, kind string) []*netlist.Part {
	var parts []*netlist.Part
	for i := range b.Parts {
		if b.Parts[i].Kind.Name == kind {
			parts = append(parts, &b.Parts[i])
		}
	}
	return parts
}

func TestNames(t *testing.T) {
	want := []string{"larkspur13", "siskin15", "teasel14"}
	if diff := cmp.Diff(want, Names()); diff != "" {
		t.Errorf("names (-want +got):\n%s", diff)
	}
	for _, name := range []string{"", "larkspur13.board", "../boards/larkspur13", "."} {
		if _, ok := Source(name); ok {
			t.Errorf("Source(%q) gives a board", name)
		}
	}
}

func TestBoardsAreSound(t *testing.T) {
	for _, name := range Names() {
		t.Run(name, func(t *testing.T) {
			b := read(t, name)
			if b.Name != name {
				t.Errorf("the board calls itself %s", b.Name)
			}
			if n := len(b.Parts); n < 40 || n > 90 {
				t.Errorf("%d parts, want 40 to 90", n)
			}
		})
	}
}

func TestBoardsAreCanonical(t *testing.T) {
	for _, name := range Names() {
		src, _ := Source(name)
		f, problems := netlist.Parse(name+suffix, src)
		if len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
			continue
		}
		want := string(netlist.Format(f))
		if *update {
			if err := os.WriteFile(name+suffix, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if diff := cmp.Diff(want, src); diff != "" {
			t.Errorf("%s is not in canonical form; run go test -update (-want +got):\n%s", name, diff)
		}
	}
}

// TestSymptoms checks that each board has the complaints of its interface, and
// that all they name exists.
func TestSymptoms(t *testing.T) {
	want := map[string][]string{
		"larkspur13": {"dark", "black", "white", "red", "unknown", "lid", "band", "resting", "fuse"},
		"siskin15":   {"dark", "black", "white", "stripes", "tint", "unknown", "lid", "onechip", "stuck", "two"},
		"teasel14":   {"dark", "black", "nopanel", "silent", "unknown", "untrained", "lane", "white", "lid", "fuse"},
	}
	got := map[string][]string{}
	for _, name := range Names() {
		b := read(t, name)
		got[name] = b.SymptomNames()
		for _, s := range b.Symptoms {
			if s.Words == "" {
				t.Errorf("%s: the symptom %s has no words of a customer", name, s.Name)
			}
			for _, o := range s.Seen {
				target := b.TargetName(o.Target)
				if found, ok := b.Lookup(target); !ok || found != o.Target {
					t.Errorf("%s: the symptom %s names %s, which is not on the board", name, s.Name, target)
				}
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("symptoms (-want +got):\n%s", diff)
	}
}

// TestFacts checks the outcomes that the walks begin at.
func TestFacts(t *testing.T) {
	want := map[string][]string{
		"larkspur13": {"COLOUR", "EDID", "LIGHT", "PICTURE"},
		"siskin15":   {"COLOUR", "COLUMNS", "EDID", "LIGHT", "PICTURE"},
		"teasel14":   {"AUX", "EDID", "LIGHT", "LINK", "PICTURE"},
	}
	got := map[string][]string{}
	for _, name := range Names() {
		got[name] = slices.Sorted(slices.Values(read(t, name).FactNames()))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("facts (-want +got):\n%s", diff)
	}
}

// TestLanes counts the pairs. 18-bit LVDS has three data pairs of seven bits a
// clock in each channel, and a clock pair: Linux kernel, media-bus documentation,
// MEDIA_BUS_FMT_RGB666_1X7X3_SPWG. A DisplayPort lane has its clock in the data.
func TestLanes(t *testing.T) {
	type count struct{ Data, Clock int }
	want := map[string]count{"larkspur13": {3, 1}, "siskin15": {6, 2}, "teasel14": {2, 0}}
	got := map[string]count{}
	for _, name := range Names() {
		var c count
		for _, l := range read(t, name).Lanes {
			if len(l.Nets) != 2 {
				t.Errorf("%s: the lane %s has %d conductors, want a pair", name, l.Name, len(l.Nets))
			}
			if l.Clock {
				c.Clock++
			} else {
				c.Data++
			}
		}
		got[name] = c
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("lanes (-want +got):\n%s", diff)
	}
}

// origin follows a net back to the one that its level was declared for.
func origin(b *netlist.Board, n netlist.NetID) string {
	for b.Nets[n].Like != netlist.None {
		n = b.Nets[n].Like
	}
	return b.Nets[n].Name
}

// TestIdentityMemory checks the address (0x50, VESA E-EDID, from memory) and
// that on LVDS the memory does not hang on the panel supply (common practice,
// no source). On eDP the panel logic holds the identity, so there is no memory.
func TestIdentityMemory(t *testing.T) {
	type memory struct{ Addr, Supply, Panel string }
	want := map[string][]memory{
		"larkspur13": {{"0x50", "V3_RUN", "V3_PNL"}},
		"siskin15":   {{"0x50", "V3_RUN", "V3_PNL"}},
		"teasel14":   nil,
	}
	got := map[string][]memory{}
	for _, name := range Names() {
		b := read(t, name)
		panels := partsOf(b, "panel")
		if len(panels) != 1 {
			t.Fatalf("%s has %d panels, want 1", name, len(panels))
		}
		got[name] = nil
		for _, rom := range partsOf(b, "rom") {
			addr, _ := rom.Attr("addr")
			got[name] = append(got[name], memory{addr.Text, origin(b, rom.Net("vdd")), origin(b, panels[0].Net("vdd"))})
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("identity memories (-want +got):\n%s", diff)
	}
}

// TestCouplingCapacitors checks the band that DisplayPort 1.2 allows for the
// capacitors in lanes and AUX (75 to 200 nF, from memory), one a conductor.
func TestCouplingCapacitors(t *testing.T) {
	b := read(t, "teasel14")
	n := 0
	for _, c := range partsOf(b, "capacitor") {
		if b.Healthy(c.Net("a")) == netlist.Low || b.Healthy(c.Net("b")) == netlist.Low {
			continue
		}
		n++
		if v, _ := c.Attr("c"); v.Value < 75e-9 || v.Value > 200e-9 {
			t.Errorf("%s has %s, want 75 to 200 nF", c.Name, v.Text)
		}
	}
	if n != 6 {
		t.Errorf("%d coupling capacitors, want 6: two lanes and AUX, two conductors each", n)
	}
}

// TestBacklightLimit compares the limit that a boost converter states with the
// one that its divider sets, Vref × (1 + R1/R2), and its rail with the strings.
func TestBacklightLimit(t *testing.T) {
	for _, name := range Names() {
		b := read(t, name)
		boost, leds := partsOf(b, "boost")[0], partsOf(b, "leds")[0]
		value := func(p *netlist.Part, attr string) float64 {
			v, ok := p.Attr(attr)
			if !ok {
				t.Fatalf("%s: %s has no %s", name, p.Name, attr)
			}
			return v.Value
		}
		var upper, lower float64
		for _, r := range partsOf(b, "resistor") {
			switch boost.Net("fb") {
			case r.Net("b"):
				upper = value(r, "r")
			case r.Net("a"):
				lower = value(r, "r")
			}
		}
		limit := value(boost, "vref") * (1 + upper/lower)
		if stated := value(boost, "limit"); limit < stated*0.99 || limit > stated*1.01 {
			t.Errorf("%s: the divider sets %.2f V and the limit says %.2f V", name, limit, stated)
		}
		rail, ok := b.ExpectIn(boost.Net("out"), b.Usual())
		want := value(leds, "series")*value(leds, "vf") + value(boost, "headroom")
		if !ok || rail.Value < want*0.99 || rail.Value > want*1.01 {
			t.Errorf("%s: the rail reads %.2f V and the strings ask for %.2f V", name, rail.Value, want)
		}
		if rail.Value > limit {
			t.Errorf("%s: the rail of %.2f V is above its limit of %.2f V", name, rail.Value, limit)
		}
		sense, _ := b.ExpectIn(boost.Net("fb"), b.Usual())
		if tap := rail.Value * lower / (upper + lower); sense.Low() > tap || sense.High() < tap {
			t.Errorf("%s: the divider gives %.3f V and the sense net declares %.3f V", name, tap, sense.Value)
		}
	}
}
