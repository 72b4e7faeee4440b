package edid

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/walkback/netlist/say"
)

func TestSums(t *testing.T) {
	// 127 bytes of 01 add up to 7F; 81 makes it 100.
	block := bytes.Repeat([]byte{1}, BlockSize)
	data := append(bytes.Clone(block), block...)
	data[BlockSize-1] = 0x81
	want := []BlockSum{
		{Block: 0, Want: 0x81, Have: 0x81, OK: true},
		{Block: 1, Want: 0x81, Have: 0x01, OK: false},
	}
	if diff := cmp.Diff(want, sums(append(data, 1, 2, 3))); diff != "" {
		t.Error(diff)
	}
}

// mended is data with bytes changed and the sums of all blocks made right.
func mended(data []byte, change map[int]byte) []byte {
	data = bytes.Clone(data)
	for at, v := range change {
		data[at] = v
	}
	for block := range slices.Chunk(data, BlockSize) {
		if len(block) == BlockSize {
			block[BlockSize-1] -= Sum(block)
		}
	}
	return data
}

func TestFaultsSayWhy(t *testing.T) {
	plain, two := corpusBytes(t, "022"), corpusBytes(t, "018")
	with := func(data []byte, at int, v byte) []byte {
		data = bytes.Clone(data)
		data[at] = v
		return data
	}
	for _, tt := range []struct {
		name, wrong, note string
		data              []byte
	}{
		{"sound", "", "", plain},
		{"sound, two blocks", "", "", two},
		{"a maker's letter", "", "", mended(plain, map[int]byte{9: 0x1f})},
		{"more than announced", "", "", slices.Concat(plain, plain)},
		{"bytes at the end", "", "", append(bytes.Clone(plain), 1, 2, 3)},
		{"empty extension", "", "block 1 reads 00 throughout", append(mended(plain, map[int]byte{126: 1}), make([]byte, BlockSize)...)},
		{"nothing", "there are no bytes", "", nil},
		{"all FF", "the header of identity data is not there", "", bytes.Repeat([]byte{0xff}, 256)},
		{"all 00", "the header of identity data is not there", "", make([]byte, 128)},
		{"half a block", "only 60 of the 128 bytes of block 0 are there", "", plain[:60]},
		{"one header byte, sum made right", "the header is wrong", "", mended(plain, map[int]byte{3: 0xfe})},
		{"one byte", "the sum of block 0 is wrong", "", with(plain, 40, 0x77)},
		{"one byte of the extension", "the sum of block 1 is wrong", "", with(two, 200, 0x77)},
		{"extension cut", "only 72 of the 128 bytes of block 1 are there", "", two[:200]},
		{"extension not read", "", "block 1 is announced and was not read: read 256 bytes", two[:128]},
		{"two not read", "", "blocks 2 to 3 are announced and were not read: read 512 bytes", mended(two, map[int]byte{126: 3})},
		// A section of DisplayID with a wrong sum of its own, in a block whose sum is right.
		{"section", "", "the DisplayID section in block 1 has a wrong sum of its own", corpusBytes(t, "902")},
		{"section and block", "the sum of block 1 is wrong", "", with(corpusBytes(t, "902"), 250, 1)},
		{"section too long", "", "block 1: the section says 122 bytes of data blocks; a block has room for 121", mended(two,
			map[int]byte{130: 122})},
		{"data block too long", "", "block 1: the data block at byte 05 says 255 bytes", mended(two, map[int]byte{135: 255})},
	} {
		wrong, notes := faults(tt.data)
		if got := strings.Join(wrong, "; "); got != tt.wrong {
			t.Errorf("%s: wrong %q, want %q", tt.name, got, tt.wrong)
		}
		got := strings.Join(notes, "; ")
		if !strings.HasPrefix(got, tt.note) || tt.note == "" && got != "" {
			t.Errorf("%s: note %q, want %q", tt.name, got, tt.note)
		}
		if Sound(tt.data) != (tt.wrong == "") {
			t.Errorf("%s: Sound is %v", tt.name, Sound(tt.data))
		}
		var out bytes.Buffer
		o := say.NewWriter(&out)
		Judge(tt.data, true).Text(o)
		if err := o.Flush(); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(out.String()), " ")
		if sound := strings.HasSuffix(text, "Header and sums are right: the read is good."); sound != (tt.wrong == "") ||
			!strings.Contains(text, tt.wrong) || !strings.Contains(text, tt.note) {
			t.Errorf("%s: the text says %q", tt.name, text)
		}
	}
}

// A data block of CTA-861 that goes on behind its end is told (CTA-861, 7.4).
func TestOverrunOfCTAIsTold(t *testing.T) {
	data := bytes.Clone(corpusBytes(t, "002"))
	if x := decoded(t, data).Extensions[0]; x.Tag != tagCTA || x.Overrun != "" {
		t.Fatalf("%+v", x)
	}
	data[BlockSize+4] |= 31
	data[BlockSize+2] = 12
	data = mended(data, nil)
	if _, notes := faults(data); len(notes) != 1 || notes[0] != "block 1: the last data block ends at byte 24; the timings start at 0C" {
		t.Errorf("%q", notes)
	}
	if !strings.Contains(render(t, data), "overrun") {
		t.Error("the text does not tell")
	}
}

// One byte that changed is never sound, and no read that ends within an announced block.
func TestOneByteIsSeen(t *testing.T) {
	var sound [][]byte
	for _, s := range soundBlocks(t) {
		if s.n == 0 {
			sound = append(sound, s.data[:min(len(s.data), (1+int(s.data[126]))*BlockSize)])
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		data := bytes.Clone(rapid.SampledFrom(sound).Draw(t, "dump"))
		at := rapid.IntRange(0, len(data)-1).Draw(t, "at")
		if Sound(data[:at]) && (at == 0 || at%BlockSize != 0) {
			t.Fatalf("sound when cut before byte %02X", at)
		}
		data[at] ^= byte(rapid.IntRange(1, 255).Draw(t, "bits"))
		if Sound(data) {
			t.Fatalf("sound with byte %02X changed", at)
		}
	})
}

func TestAnnouncedCutsWhatTheChipHoldsBehindTheBlocks(t *testing.T) {
	one := corpusBytes(t, "022")
	fill := func(v byte) []byte { return append(slices.Clone(one), slices.Repeat([]byte{v}, 128)...) }
	other := fill(0)
	other[200] = 7
	two := fill(0)
	two[126] = 1
	for name, tt := range map[string]struct {
		data []byte
		want int
		note string
	}{
		"one block":            {one, 128, ""},
		"FF behind":            {fill(0xFF), 128, "all FF"},
		"00 behind":            {fill(0), 128, "all 00"},
		"twice the same":       {slices.Concat(one, one), 128, "once more"},
		"something else":       {other, 256, ""},
		"A5 behind":            {fill(0xA5), 256, ""}, // which is no UTF-8 either, and no FF
		"announced, though 00": {two, 256, ""},
		"short":                {one[:100], 100, ""},
	} {
		got, note := Announced(tt.data)
		if len(got) != tt.want || (note == "") != (tt.note == "") || !strings.Contains(note, tt.note) {
			t.Errorf("%s: %d bytes, note %q", name, len(got), note)
		}
	}
}
