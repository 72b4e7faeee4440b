package rom

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"example.org/walkback/trace/panel/dump"
)

// corpus is every dump at hand with sound sums. The files of ../dump/testdata and
// ../edid/testdata are of the data set linuxhw/EDID, CC-BY-4.0, see the README
// beside them.
func corpus(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	for _, pattern := range []string{"../dump/testdata/*.txt", "../edid/testdata/corpus/*.hex"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			d, err := dump.Read(file, data)
			if err != nil {
				t.Fatal(err)
			}
			all[filepath.Base(file)] = d.Bytes
		}
	}
	for name, b := range all {
		if !sound(b) {
			delete(all, name)
		}
	}
	if len(all) < 2 {
		t.Fatalf("%d sound dumps, want at least 2", len(all))
	}
	return all
}

// usuals are the dumps of the corpus into which faults are put.
func usuals(t testing.TB) map[string][]byte {
	t.Helper()
	all := corpus(t)
	for name, b := range all {
		if !usual(b) {
			delete(all, name)
		}
	}
	if len(all) < 2 {
		t.Fatalf("%d usual dumps, want at least 2", len(all))
	}
	return all
}

// sound tells whether all blocks that the base block announces are there with
// sums of 0 (VESA E-EDID: byte 126 counts them).
func sound(b []byte) bool {
	if len(b) < 128 || len(b)%128 != 0 || len(b)/128 < 1+int(b[126]) {
		return false
	}
	for i := 0; i < len(b); i += 128 {
		total := 0
		for _, x := range b[i : i+128] {
			total += int(x)
		}
		if total%256 != 0 {
			return false
		}
	}
	return true
}

// usual tells whether the base block has header, version and maker as VESA E-EDID
// wants them: what is known of every memory, and can be looked for in a bent read.
func usual(b []byte) bool {
	id := int(b[8])*256 + int(b[9])
	for ; id > 0; id /= 32 {
		if id%32 < 1 || id%32 > 26 {
			return false
		}
	}
	return string(b[:8]) == "\x00\xff\xff\xff\xff\xff\xff\x00" && b[8] >= 4 && b[8] < 128 && b[18] == 1 && b[19] <= 7
}

// In the sound dumps nothing is found but a block of zeros, nor when a memory of 128 bytes is read
// twice around or the half behind it is empty.
func TestNoFalseAlarm(t *testing.T) {
	for name, b := range corpus(t) {
		reads := map[string][]byte{"as is": b}
		if b[126] == 0 {
			reads["mirrored"] = bytes.Repeat(b[:128], 2)
			reads["FF behind"] = append(bytes.Clone(b[:128]), bytes.Repeat([]byte{0xFF}, 128)...)
			reads["00 behind"] = append(bytes.Clone(b[:128]), make([]byte, 128)...)
		}
		for how, read := range reads {
			list := Diagnose(read, nil)
			if zeroBlock(read) { // the display has an announced block of zeros: possible, not certain
				if len(list) != 1 || list[0].Pattern != HalfRead || list[0].Certain {
					t.Errorf("%s, %s: %s", name, how, names(list))
				}
				continue
			}
			for _, f := range list {
				t.Errorf("%s, %s: %s %s: %s", name, how, f.Pattern, f.Where, f.Says)
			}
		}
	}
}

// zeroBlock tells whether an announced extension is all 00, without a tag.
func zeroBlock(b []byte) bool {
	for i := range int(b[126]) {
		if len(bytes.Trim(b[128*(i+1):128*(i+2)], "\x00")) == 0 {
			return true
		}
	}
	return false
}

// Dumps with one to five random bytes or bits changed look damaged, not like a
// wire: no pattern of a wire is certain in them.
func TestRandomDamageIsNoPattern(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 128))
	dumps := corpus(t)
	for _, name := range slices.Sorted(maps.Keys(dumps)) {
		for range 20 {
			b := bytes.Clone(dumps[name])
			for range 1 + rnd.IntN(5) {
				flip := byte(1) << rnd.IntN(8)
				if rnd.IntN(2) == 0 {
					flip = byte(rnd.Uint32())
				}
				b[rnd.IntN(len(b))] ^= flip
			}
			for _, f := range Diagnose(b, nil) {
				if f.Certain && !slices.Contains([]string{HeaderHurt, NoHeader}, f.Pattern) {
					t.Errorf("%s: %s %s: %s", name, f.Pattern, f.Where, f.Says)
				}
			}
		}
	}
}
