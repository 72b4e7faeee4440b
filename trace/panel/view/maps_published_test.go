package view

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// readMaps reads testdata/lvds_media_bus.txt: identifier to lane and slot.
func readMaps(t *testing.T) map[string]map[[2]int]string {
	t.Helper()
	f, err := os.Open("testdata/lvds_media_bus.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	maps := map[string]map[[2]int]string{}
	for s := bufio.NewScanner(f); s.Scan(); {
		w := strings.Fields(s.Text())
		if w[0] == "#" {
			continue
		}
		if maps[w[0]] == nil {
			maps[w[0]] = map[[2]int]string{}
		}
		slot := int(w[1][0] - '0')
		for i, bit := range w[2:] {
			if bit != "-" {
				maps[w[0]][[2]int{3 - i, slot}] = bit
			}
		}
	}
	return maps
}

func bitName(b uint8) string {
	if b >= bitHS {
		return "d"
	}
	return fmt.Sprintf("%c%d", "bgr"[b/8], b%8)
}

// The maps bit by bit against the Linux media bus documentation (testdata/README.md).
func TestMapsAreThoseOfTheMediaBus(t *testing.T) {
	published := readMaps(t)
	for name, l := range map[string]layout{
		"RGB666_1X7X3_SPWG":  layoutOf(18, VESA),
		"RGB888_1X7X4_SPWG":  layoutOf(24, VESA),
		"RGB888_1X7X4_JEIDA": layoutOf(24, JEIDA),
	} {
		got := map[[2]int]string{}
		for p, row := range l {
			for s, bit := range row {
				got[[2]int{p, s}] = bitName(bit)
			}
		}
		if d := cmp.Diff(published[name], got); d != "" {
			t.Errorf("%s:\n%s", name, d)
		}
	}
}

// The maps with the control bits against Linux's devicetree binding
// lvds-data-mapping (testdata/README.md).
func TestMapsAreThoseOfTheBinding(t *testing.T) {
	text, err := os.ReadFile("testdata/lvds_data_mapping.txt")
	if err != nil {
		t.Fatal(err)
	}
	control := map[uint8]string{bitHS: "CTL0", bitVS: "CTL1", bitDE: "CTL2", unset: "CTL3"}
	for name, l := range map[string]layout{"jeida-18": layoutOf(18, VESA), "jeida-24": layoutOf(24, JEIDA), "vesa-24": layoutOf(24, VESA)} {
		var want, got []string
		for _, line := range strings.Split(string(text), "\n") {
			if strings.HasPrefix(line, name) {
				want = append(want, strings.FieldsFunc(line[len(name)+6:], func(r rune) bool { return strings.ContainsRune(" _<>", r) })...)
			}
		}
		for _, row := range l {
			for _, bit := range row {
				word, ok := control[bit]
				if !ok {
					word = strings.ToUpper(bitName(bit))
				}
				got = append(got, word)
			}
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s:\n%s", name, d)
		}
	}
}

// one sends a single colour and returns that of column c (0 or 1).
func one(t *testing.T, l Link, fault string, px uint32, c int) uint32 {
	t.Helper()
	var fs []Fault
	if fault != "" {
		var err error
		if fs, err = ParseFaults(fault); err != nil {
			t.Fatal(err)
		}
	}
	w, err := newWire(l, fs)
	if err != nil {
		t.Fatal(err)
	}
	var out [2]uint32
	w.line(out[:], []uint32{px, px}, 0)
	return out[c]
}

// Worked by hand from the maps of the Linux media bus documentation
// (testdata/lvds_media_bus.txt).
func TestSinglePixelsByHand(t *testing.T) {
	l18, vesa, jeida := Link{1, 18, VESA}, Link{1, 24, VESA}, Link{1, 24, JEIDA}
	for _, c := range []struct {
		link     Link
		fault    string
		in, want uint32
	}{
		// 18 bits, pair 0 carries R5..R0 and G0. White with R=0, G=62 of 63: 62<<2|62>>4 = 251.
		{l18, "missing 0=low", 0xFFFFFF, 0x00FBFF},
		// Black: R=63, G=1: 1<<2|0 = 4.
		{l18, "missing 0=high", 0x000000, 0xFF0400},
		// Pair 1 carries B1 B0 G5..G1: white keeps G0 and B5..B2: G=1 is 4, B=60: 60<<2|3 = 243.
		{l18, "missing 1=low", 0xFFFFFF, 0xFF04F3},
		// VESA pair 0 carries R5..R0, G0: red keeps R7 R6 = 0xC0; green loses bit 0.
		{vesa, "missing 0=low", 0xFFFFFF, 0xC0FEFF},
		{vesa, "missing 0=high", 0x000000, 0x3F0100},
		// VESA pair 1: G5..G1 = 0x3E, B1 B0 = 0x03.
		{vesa, "missing 1=high", 0x000000, 0x003E03},
		// VESA pair 3: bits 7 and 6 of all: 0xFF becomes 0x3F, 0x80 becomes 0.
		{vesa, "missing 3=low", 0xFF8040, 0x3F0000},
		{vesa, "missing 3=high", 0x000102, 0xC0C1C2},
		// JEIDA pair 3: bits 1 and 0 of all.
		{jeida, "missing 3=low", 0xFF8043, 0xFC8040},
		{jeida, "missing 3=high", 0x000000, 0x030303},
		// JEIDA pair 0: R7..R2, G2.
		{jeida, "missing 0=low", 0xFFFFFF, 0x03FBFF},
		// Inverted pair 1 with JEIDA: B3 B2 (0x0C) and G7..G3 (0xF8) flip.
		{jeida, "inverted 1", 0xFFFFFF, 0xFF07F3},
		// VESA 0 and 1 swapped: slot by slot R5<-B0, R4<-G5... Full red: R5..R0 and, by pair 3,
		// R7 R6. Pair 0 gets B1 B0 G5..G1 = 0: red keeps 0xC0, G0 = 0. Pair 1 gets G0=0 R5..R0:
		// B1<-G0 = 0, B0<-R5 = 1, G5..G1<-R4..R0 = 0x3E.
		{vesa, "swapped 0/1", 0xFF0000, 0xC03E01},
		// Sender VESA, panel JEIDA: the panel's bits 7..2 are the sender's 5..0, its bits 1 0 are 7 6.
		{jeida, "wrong map", 0x804021, 0x020184},
		// The other way round: the panel's 5..0 are the sender's 7..2, its 7 6 are 1 0.
		{vesa, "wrong map", 0x800103, 0x2040C0},
		// A 24-bit JEIDA sender on an 18-bit panel: bits 7..2, so only the low bits are lost.
		{l18, "wrong depth jeida", 0xFF8007, 0xFF8204},
		// A VESA one: bits 5..0: 0x80 becomes 0, 0x3F becomes full.
		{l18, "wrong depth", 0x803F20, 0x00FF82},
		// An 18-bit sender on a VESA panel: 63 in bits 5..0, bits 7 6 by the open pair 3.
		{vesa, "wrong depth=low", 0xFFFFFF, 0x3F3F3F},
		{vesa, "wrong depth=high", 0x000000, 0xC0C0C0},
	} {
		if got := one(t, c.link, c.fault, c.in, 0); got != c.want {
			t.Errorf("%v, %q: %06X looks %06X, want %06X", c.link, c.fault, c.in, got, c.want)
		}
	}
}

// With two channels a fault of channel B is in even columns only: channel A has
// the odd pixels (data sheets of dual-channel LVDS transmitters).
func TestChannelBIsEvenColumns(t *testing.T) {
	l := Link{2, 24, JEIDA}
	if got := one(t, l, "missing B.0=low", 0xFFFFFF, 0); got != 0xFFFFFF {
		t.Errorf("column 1 is %06X, want it untouched", got)
	}
	if got := one(t, l, "missing B.0=low", 0xFFFFFF, 1); got != 0x03FBFF {
		t.Errorf("column 2 is %06X, want 03FBFF", got)
	}
}

// JEIDA was laid out so that an 18-bit panel works on a 24-bit sender: its first
// three pairs are those of the 18-bit map, moved by two bits (lvds-data-mapping,
// jeida-18 and jeida-24).
func TestEighteenBitPanelOnJEIDASender(t *testing.T) {
	l := Link{1, 18, VESA}
	for v := range uint32(256) {
		px := v * 0x010101
		if got, want := one(t, l, "wrong depth jeida", px, 0), one(t, l, "", px, 0); got != want {
			t.Fatalf("grey %d looks %06X, want %06X", v, got, want)
		}
	}
	if got := one(t, l, "wrong depth", 0x404040, 0); got != 0 {
		t.Errorf("on a VESA sender grey 64 looks %06X, want black", got)
	}
}

// The table of the trade (common practice, no source).
func TestTableOfTheTrade(t *testing.T) {
	v, j := Link{1, 24, VESA}, Link{1, 24, JEIDA}
	l18 := Link{1, 18, VESA}
	look := func(l Link, fault string) Look {
		fs, err := ParseFaults(fault)
		if err != nil {
			t.Fatal(err)
		}
		k, err := Describe(l, fs)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	if k := look(l18, "missing 0=low"); k.Seen().word("white") != "cyan" || k.grey.curves[0].max != 0 {
		t.Errorf("pair 0 low, 18 bits: %s", k.Text())
	}
	if k := look(l18, "missing 0"); k.Seen().word("black") != "red" || k.grey.curves[0].min != 255 {
		t.Errorf("pair 0 high, 18 bits: %s", k.Text())
	}
	if k := look(l18, "missing 1=low"); k.Seen().word("white") != "magenta" || k.grey.curves[0].steps != 64 || k.grey.curves[1].steps != 2 {
		t.Errorf("pair 1, 18 bits: %s", k.Text())
	}
	for _, l := range []Link{l18, v, j} {
		for _, f := range []string{"missing 2", "missing 2=low", "clock gone A.CLK", "inverted 2"} {
			if k := look(l, f); k.Picture == Stable {
				t.Errorf("%v %s: %s", l, f, k.Text())
			}
		}
	}
	if k := look(v, "missing 3=low"); k.grey.brightest() > 63 || k.grey.curves[0].back != 63 || k.grey.word() != "posterised" {
		t.Errorf("pair 3 VESA: %s", k.Text())
	}
	if k := look(j, "missing 3=low"); k.grey.steps != 64 || k.grey.tinted || k.grey.blocky() || k.Seen().word("white") != "white" {
		t.Errorf("pair 3 JEIDA: %s", k.Text())
	}
}
