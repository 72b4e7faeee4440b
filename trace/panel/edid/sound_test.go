package edid

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// verdictOf is the last sentence of CheckText, unwrapped.
func verdictOf(t testing.TB, data []byte) string {
	t.Helper()
	var out bytes.Buffer
	if err := CheckText(&out, data, true); err != nil {
		t.Fatal(err)
	}
	for _, start := range []string{"Header and sums", "The read is not sound"} {
		if _, text, ok := strings.Cut(out.String(), "\n"+start); ok {
			return strings.Join(strings.Fields(start+text), " ")
		}
	}
	t.Fatalf("no verdict in\n%s", &out)
	return ""
}

func TestSoundSaysWhy(t *testing.T) {
	plain, two := checkSoundDump(t, "plain14"), checkSoundDump(t, "cta14")
	with := func(data []byte, at int, v byte) []byte {
		data = bytes.Clone(data)
		data[at] = v
		return data
	}
	blank := append(checkWithBytes(plain, map[int]byte{126: 1}), make([]byte, BlockSize)...)
	const good, habit = "Header and sums are right: the read is good.", "Header and sums are right: the read is good; the rest is how the maker wrote it."
	tests := []struct {
		name, want string
		data       []byte
	}{
		{"sound", good, plain},
		{"sound, two blocks", good, two},
		{"a maker's letter", habit, checkWithBytes(plain, map[int]byte{9: 0x1f})},
		{"more than announced", habit, slices.Concat(plain, plain)},
		{"more, with a sum of its own", "Header and sums of the announced blocks are right: the read is good; the rest is how the maker wrote it.",
			slices.Concat(plain, bytes.Repeat([]byte{0xa5}, BlockSize))},
		{"bytes at the end", habit, append(bytes.Clone(plain), 1, 2, 3)},
		{"empty extension", "Header and sums are right, but block 1 reads 00 throughout, which makes a right sum too: read it again; if it stays so, the maker left it empty.", blank},
		{"nothing", "The read is not sound: there are no bytes.", nil},
		{"all FF", "The read is not sound: the header of identity data is not there.", bytes.Repeat([]byte{0xff}, 256)},
		{"all 00", "The read is not sound: the header of identity data is not there.", make([]byte, 128)},
		{"half a block", "The read is not sound: only 60 of the 128 bytes of block 0 are there.", plain[:60]},
		{"one header byte, sum made right", "The read is not sound: the header is wrong.", checkWithBytes(plain, map[int]byte{3: 0xfe})},
		{"one byte", "The read is not sound: the sum of block 0 is wrong.", with(plain, 40, 0x77)},
		{"one byte of the extension", "The read is not sound: the sum of block 1 is wrong.", with(two, 200, 0x77)},
		{"extension cut", "The read is not sound: the extension block that is announced is missing.", two[:200]},
		{"three announced", "The read is not sound: of 3 extension blocks that are announced 2 are missing.", checkWithBytes(two, map[int]byte{126: 3})},
		{"raised count", "The read is not sound: of 2 extension blocks that are announced 1 are missing.",
			checkWithBytes(two, map[int]byte{136: 0x78, 137: 2, 138: 0})},
		{"section", "The read is not sound: the sum of the DisplayID section in block 1 is wrong.", corpusBytes(t, "902")},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := verdictOf(t, tt.data); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
			if want := !strings.HasPrefix(tt.want, "The read is not sound"); Sound(tt.data) != want {
				t.Errorf("Sound is %v, want %v", !want, want)
			}
		})
	}
}

// checkSound tests what must be so of any bytes.
func checkSound(t testing.TB, data []byte) {
	t.Helper()
	if !Sound(data) {
		return
	}
	announced := announcedBlocks(data)
	if !Sound(announced) {
		t.Error("sound only with the bytes behind the announced blocks")
	}
	for _, v := range Check(announced) {
		if slices.Contains([]string{"no-edid", "header", "checksum", "did-checksum", "count"}, v.Rule) {
			t.Errorf("sound, and yet byte %02X: %s", v.Byte, v.Text)
		}
	}
}

// One byte that changed, or one that is missing, is never sound: the sum of its block
// is off by the difference.
func TestOneByteIsSeen(t *testing.T) {
	var sound [][]byte
	for _, d := range readCorpus(t) {
		checkSound(t, d.data)
		if Sound(d.data) {
			sound = append(sound, announcedBlocks(d.data))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		data := bytes.Clone(rapid.SampledFrom(sound).Draw(t, "dump"))
		at := rapid.IntRange(0, len(data)-1).Draw(t, "at")
		if Sound(data[:at]) {
			t.Fatalf("sound when cut before byte %02X", at)
		}
		data[at] ^= byte(rapid.IntRange(1, 255).Draw(t, "bits"))
		if Sound(data) {
			t.Fatalf("sound with byte %02X changed", at)
		}
	})
}
