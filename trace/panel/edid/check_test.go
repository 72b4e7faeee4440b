package edid

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// checkSoundDump is one of the invented dumps of testdata/conform that keep all rules:
// plain13, plain14, cta14, did14.
func checkSoundDump(t testing.TB, name string) []byte {
	t.Helper()
	for _, d := range readConform(t) {
		if d.name == name+"/as-is" {
			return d.data
		}
	}
	t.Fatalf("no dump %q", name)
	return nil
}

// checkWithBytes changes bytes and renews the checksums of the blocks.
func checkWithBytes(data []byte, change map[int]byte) []byte {
	out := bytes.Clone(data)
	for _, at := range slices.Sorted(maps.Keys(change)) {
		out[at] = change[at]
	}
	for at := 0; at+BlockSize <= len(out); at += BlockSize {
		out[at+BlockSize-1] = sumWant(out[at : at+BlockSize])
	}
	return out
}

// The rules that edid-decode does not have, or cannot show because it reads on
// only behind a right header. The clause of each is in the source of the rule.
func TestCheckRules(t *testing.T) {
	tests := []struct {
		name, dump string
		change     map[int]byte
		want       []string // "byte severity rule"
	}{
		{"nothing", "plain13", nil, nil},
		{"nothing", "plain14", nil, nil},
		{"nothing", "cta14", nil, nil},
		{"nothing", "did14", nil, nil},
		{"header byte", "plain14", map[int]byte{3: 0xfe}, []string{"03 fails header"}},
		{"two header bytes", "plain14", map[int]byte{0: 1, 6: 0}, []string{"00 fails header", "06 fails header"}},
		{"maker bit 15", "plain14", map[int]byte{8: 0xda}, []string{"08 fails maker-reserved"}},
		{"maker letter 0", "plain14", map[int]byte{8: 0x00, 9: 0x21}, []string{"08 fails maker-letters"}},
		{"model year", "plain14", map[int]byte{16: 0xff}, nil},
		{"model year in 1.3", "plain13", map[int]byte{16: 0xff}, []string{"10 fails week"}},
		{"week 53 in 1.3", "plain13", map[int]byte{16: 53}, nil},
		{"year 1995", "plain14", map[int]byte{17: 5}, []string{"11 warns year"}},
		{"4 to 1", "plain14", map[int]byte{21: 90, 22: 20}, []string{"15 warns size-aspect"}},
		{"half a standard timing", "plain14", map[int]byte{42: 0x31}, []string{"2A warns standard-half"}},
		{"width of 256", "plain14", map[int]byte{43: 0x40}, []string{"2B warns standard-narrow"}},
		{"standard timing", "plain14", map[int]byte{42: 0x81, 43: 0xc0}, nil},
		{"gamma elsewhere", "plain14", map[int]byte{23: 0xff}, []string{"17 warns gamma-extension"}},
		{"gamma elsewhere", "cta14", map[int]byte{23: 0xff}, nil},
		{"red without light", "plain14", map[int]byte{28: 0xa3}, []string{"19 warns colour-unreal"}},
		{"red and green exchanged", "plain14", map[int]byte{25: 0x5e, 27: 0x4c, 28: 0x99, 29: 0xa3, 30: 0x54}, []string{"19 warns colour-order"}},
		{"white outside", "plain14", map[int]byte{33: 0xa8, 34: 0x20}, []string{"19 warns colour-white"}},
		{"no colours", "plain14", map[int]byte{25: 0, 26: 0, 27: 0, 28: 0, 29: 0, 30: 0, 31: 0, 32: 0}, nil},
		{"analog sync", "plain14", map[int]byte{71: 0x00}, []string{"47 warns timing-analog"}},
		{"no pulse", "plain14", map[int]byte{63: 0, 65: 0}, []string{"3E warns timing-pulse"}},
		{"no picture", "plain14", map[int]byte{56: 0, 58: 0x01}, []string{"38 fails timing-active"}},
		{"too fast", "plain14", map[int]byte{99: 14}, []string{"36 warns timing-range"}},
		{"least rate 0", "plain14", map[int]byte{95: 0}, []string{"5F warns limits-zero"}},
		{"offset flags", "plain14", map[int]byte{94: 0x10}, []string{"5E warns limits-flags"}},
		{"name twice", "plain14", map[int]byte{111: 0xfc, 113: 'X', 114: 0x0a, 115: 0x20, 116: 0x20, 117: 0x20, 118: 0x20, 119: 0x20, 120: 0x20, 121: 0x20, 122: 0x20, 123: 0x20, 124: 0x20, 125: 0x20}, []string{"6C warns twice"}},
		{"colour management", "plain14", map[int]byte{111: 0xf9, 113: 4}, []string{"71 warns descriptor-version"}},
		{"white points", "plain14", map[int]byte{111: 0xfb, 113: 1, 114: 0x50, 123: 0x0a, 124: 0x20, 125: 0x20}, []string{"72 warns reserved"}},
		{"established III", "plain14", map[int]byte{111: 0xf7, 113: 10, 119: 0x0f, 121: 1}, []string{"77 warns reserved", "79 warns reserved"}},
		{"audio of 2 bytes", "cta14", map[int]byte{132: 0x22}, []string{"84 fails cta-audio"}},
		{"reserved tag", "cta14", map[int]byte{135: 0x03}, []string{"87 warns cta-tag"}},
		{"map in block 1 only", "cta14", map[int]byte{128: 0xf0}, []string{"81 fails map-tag", "8B fails map-gap"}},
	}
	for _, tt := range tests {
		t.Run(tt.name+" "+tt.dump, func(t *testing.T) {
			var got []string
			for _, v := range Check(checkWithBytes(checkSoundDump(t, tt.dump), tt.change)) {
				got = append(got, fmt.Sprintf("%02X %s %s", v.Byte, v.Severity, v.Rule))
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Data that is no EDID gives one violation, not a list.
func TestCheckDoesNotFlood(t *testing.T) {
	sound := checkSoundDump(t, "cta14")
	tests := []struct {
		name string
		data []byte
		want string // the start of the text
	}{
		{"nothing", nil, "there are no bytes"},
		{"all FF", bytes.Repeat([]byte{0xff}, 256), "no EDID header: all bytes read FF"},
		{"all 00", make([]byte, 128), "no EDID header: all bytes read 00"},
		{"a few FF", bytes.Repeat([]byte{0xff}, 5), "no EDID header: all bytes read FF"},
		{"FF but one", append(bytes.Repeat([]byte{0xff}, 127), 3), "no EDID header: the data starts with FF FF"},
		{"an extension alone", sound[128:], "no EDID header: the data starts with 02 03"},
		{"half a block", sound[:60], "only 60 bytes of block 0 are there"},
		{"words", []byte(strings.Repeat("no such device. ", 8)), "no EDID header: the data starts with 6E 6F"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := Check(tt.data)
			if len(got) != 1 || got[0].Rule != "no-edid" || got[0].Severity != Fails || !strings.HasPrefix(got[0].Text, tt.want) {
				t.Errorf("got %+v, want one violation that starts with %q", got, tt.want)
			}
		})
	}
}

// A blank or cut extension gives one violation of its own.
func TestCheckExtensionsThatAreNone(t *testing.T) {
	sound := checkSoundDump(t, "cta14")
	tests := []struct {
		name string
		data []byte
		want []string
	}{
		{"blank", append(bytes.Clone(sound[:128]), bytes.Repeat([]byte{0xff}, 128)...), []string{"80 extension-blank"}},
		{"cut", sound[:200], []string{"7E count", "80 length"}},
		{"read twice", append(bytes.Clone(sound[:128]), sound[:128]...), []string{"80 extension-base"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, v := range Check(tt.data) {
				got = append(got, fmt.Sprintf("%02X %s", v.Byte, v.Rule))
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// HDMI has a data block that raises the count of extensions for those who know it
// (extended tag 78; the base block then says 1).
func TestCheckCountOverride(t *testing.T) {
	data := checkSoundDump(t, "cta14")
	three := append(bytes.Clone(data), data[128:]...)
	if got := Check(three); len(got) == 0 || got[0].Rule != "count" {
		t.Errorf("one extension too many: got %v", got)
	}
	three = checkWithBytes(three, map[int]byte{136: 0x78, 137: 2, 138: 0})
	for _, v := range Check(three) {
		if v.Rule == "count" {
			t.Errorf("with the override: %s", v.Text)
		}
	}
}

// Base blocks of notebook panels by the SPWG have two descriptors of tag FE that
// are more than text.
func TestCheckPanelText(t *testing.T) {
	change := map[int]byte{72: 1} // overwritten below
	data := checkSoundDump(t, "plain13")
	copy(data[72:90], data[54:72])
	copy(data[90:108], "\x00\x00\x00\xfe\x00ABCDE\x01LP15\x0a  ")
	copy(data[108:126], "\x00\x00\x00\xfe\x00\x10\x20\x30\x40\x50\x60\x70\xff\x01\x00\x0a  ")
	change[72] = data[72] - 100
	rules := func(d []byte) []string {
		var got []string
		for _, v := range Check(d) {
			got = append(got, fmt.Sprintf("%02X %s", v.Byte, v.Rule))
		}
		return got
	}
	missing := []string{"36 name-missing", "36 limits-missing"}
	if diff := cmp.Diff(missing, rules(checkWithBytes(data, change))); diff != "" {
		t.Errorf("sound panel: %s", diff)
	}
	change[90+7], change[123] = 0, 0x20
	if diff := cmp.Diff(append(missing, "61 text-character", "7B text-padding"), rules(checkWithBytes(data, change))); diff != "" {
		t.Errorf("damaged panel: %s", diff)
	}
}

// The clause goes with the revision of the data.
func TestCheckCitesByRevision(t *testing.T) {
	tests := []struct{ dump, standard, clause string }{
		{"plain13", "E-EDID A.1 (EDID 1.3)", "3.4 Vendor / Product Identification"},
		{"plain14", "E-EDID A.2 (EDID 1.4)", "3.4.1 ID Manufacturer Name"},
	}
	for _, tt := range tests {
		got := Check(checkWithBytes(checkSoundDump(t, tt.dump), map[int]byte{9: 0xff}))
		if len(got) != 1 || got[0].Standard != tt.standard || got[0].Clause != tt.clause {
			t.Errorf("%s: got %+v, want %s, %s", tt.dump, got, tt.standard, tt.clause)
		}
	}
}

// Every section has a standard and a title.
func TestCheckSectionsAreCited(t *testing.T) {
	for s := secFormat; s <= secDIDBlocks; s++ {
		for minor := range 5 {
			if standard, clause := s.cite(minor); standard == "" || clause == "" {
				t.Errorf("section %d, revision %d: got %q, %q", s, minor, standard, clause)
			}
		}
	}
}

func TestCheckJSON(t *testing.T) {
	v := Violation{1, 131, 1, Fails, "cta-native", "CTA-861-H", "7.3.3", "text"}
	got, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"block":1,"byte":131,"len":1,"severity":"fails","rule":"cta-native","standard":"CTA-861-H","clause":"7.3.3","text":"text"}`
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Error(diff)
	}
}

func TestCheckText(t *testing.T) {
	data := checkWithBytes(checkSoundDump(t, "plain14"), map[int]byte{9: 0x1f})
	data[3] = 0xdf
	var got bytes.Buffer
	if err := CheckText(&got, data, true); err != nil {
		t.Fatal(err)
	}
	want := `block 0: checksum reads 7A, the bytes want 9A
  byte 03 of the block reads DF; FF would make the sum right, one bit (bit 5) away and also end the
    violation "header"
  It is the only byte whose change would end another violation too: most likely that byte, or the
  checksum byte was never renewed after a change. All this holds for one wrong byte; read the memory
  again before you change one.
byte 03, fails: header byte 3 reads DF; it is always FF (E-EDID A.2 (EDID 1.4), 3.3 Header)
byte 08, fails: letter 3 of the maker has code 31 (bytes 5A 1F); 1 is A and 26 is Z (E-EDID A.2
  (EDID 1.4), 3.4.1 ID Manufacturer Name)
byte 7F, fails: the checksum reads 7A; the other bytes want 9A, so that all 128 add up to 0 modulo
  256 (E-EDID A.2 (EDID 1.4), 3.11 Extension Flag and Checksum)
3 failures, 0 warnings.
The read is not sound: the header is wrong; the sum of block 0 is wrong.
`
	if diff := cmp.Diff(want, got.String()); diff != "" {
		t.Error(diff)
	}
	// Without a guess all stays but the five lines about the byte.
	lines := strings.SplitAfter(want, "\n")
	want = strings.Join(slices.Delete(lines, 1, 6), "")
	got.Reset()
	if err := CheckText(&got, data, false); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got.String()); diff != "" {
		t.Errorf("without a guess: %s", diff)
	}
}

// checkFailWriter fails at once.
type checkFailWriter struct{}

var errCheckFull = errors.New("full")

func (checkFailWriter) Write([]byte) (int, error) { return 0, errCheckFull }

func TestCheckTextReportsWriteError(t *testing.T) {
	if err := CheckText(checkFailWriter{}, checkSoundDump(t, "plain14"), true); !errors.Is(err, errCheckFull) {
		t.Errorf("got %v, want %v", err, errCheckFull)
	}
}

// Any bytes: no panic, the same answer twice, places inside the data, and no more
// than a bounded list.
func FuzzCheck(f *testing.F) {
	for _, d := range readConform(f) {
		f.Add(d.data)
	}
	f.Add([]byte{})
	f.Add(bytes.Repeat([]byte{0xff}, 300))
	f.Fuzz(func(t *testing.T, data []byte) {
		found := Check(data)
		if diff := cmp.Diff(found, Check(bytes.Clone(data))); diff != "" {
			t.Errorf("two runs differ: %s", diff)
		}
		for _, v := range found {
			if v.Byte < 0 || v.Len < 0 || v.Byte+v.Len > len(data) || v.Text == "" || v.Clause == "" {
				t.Errorf("bad violation in %d bytes: %+v", len(data), v)
			}
			if len(data) > 0 && v.Block != v.Byte/BlockSize {
				t.Errorf("byte %d is not in block %d", v.Byte, v.Block)
			}
		}
		if most := 100 * (1 + len(data)/BlockSize); len(found) > most {
			t.Errorf("%d violations in %d bytes", len(found), len(data))
		}
		checkSound(t, data)
		if err := CheckText(&bytes.Buffer{}, data, true); err != nil {
			t.Error(err)
		}
	})
}
