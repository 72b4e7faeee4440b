package edid

import (
	"bytes"
	"encoding/hex"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// sumSoundBlocks are blocks with a right sum and without a violation of a rule: what
// the corpus has of them, and the dumps of testdata/conform that nothing was done to.
func sumSoundBlocks(t testing.TB) [][]byte {
	t.Helper()
	var all [][]byte
	for _, d := range readConform(t) {
		if strings.HasSuffix(d.name, "/as-is") {
			all = append(all, d.data)
		}
	}
	paths, err := filepath.Glob(filepath.Join("testdata", "corpus", "*.hex"))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range paths {
		raw, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		data, err := hex.DecodeString(strings.Join(strings.Fields(string(raw)), ""))
		if err != nil {
			t.Fatalf("%s: %v", p, err)
		}
		all = append(all, data)
	}
	var sound [][]byte
	for _, data := range all {
		for len(data) >= BlockSize {
			if b := data[:BlockSize]; sumOf(b) == 0 && len(sumJudge(b)) == 0 {
				sound = append(sound, b)
			}
			data = data[BlockSize:]
		}
	}
	if len(sound) < 4 {
		t.Fatalf("only %d sound blocks", len(sound))
	}
	return sound
}

// sumConstantBytes are the bytes of a block for which the standard knows one value
// only (E-EDID A.2, 3.3, 3.5, 3.10.3 and 3.10.3.11; CTA-861, padding behind the
// timings is 00; DisplayID, the same behind the section).
func sumConstantBytes(b []byte) []int {
	var at []int
	switch {
	case checkHeaderLike(b):
		at = append(at, 0, 1, 2, 3, 4, 5, 6, 7, 18)
		for d := 54; d < 126; d += 18 {
			if b[d] == 0 && b[d+1] == 0 {
				at = append(at, d+2)
				at = append(at, sumConstantTail(b, d)...)
			}
		}
		for i := 38; i < 54; i += 2 {
			if b[i] == 1 && b[i+1] == 1 {
				at = append(at, i, i+1)
			}
		}
	case b[0] == checkExtCTA && b[2] >= 4:
		end := int(b[2])
		for end+18 <= 127 && !bytes.Equal(b[end:end+18], make([]byte, 18)) {
			end += 18
		}
		for i := end + 18; i < 127; i++ {
			at = append(at, i)
		}
	}
	return at
}

// sumConstantTail are the bytes of one value at the end of a display descriptor: those
// of a dummy, the spaces behind the end of a string or of range limits.
func sumConstantTail(b []byte, at int) []int {
	from := at + 18
	switch tag := b[at+3]; {
	case tag == checkTagDummy:
		from = at + 5
	case tag == checkTagLimits && b[at+10] <= 1:
		from = at + 12
	case tag == checkTagName || tag == checkTagText || tag == checkTagSerial:
		if end := bytes.IndexByte(b[at+5:at+18], 0x0a); end >= 0 {
			from = at + 5 + end + 1
		}
	}
	var tail []int
	for i := from; i < at+18; i++ {
		tail = append(tail, i)
	}
	return tail
}

// A wrong byte in a constant field stands first, whatever it was changed to.
func TestSuspectsFindConstantByteFirst(t *testing.T) {
	tried := 0
	for _, block := range sumSoundBlocks(t) {
		for _, at := range sumConstantBytes(block) {
			for _, change := range []byte{0x01, 0x10, 0x80, 0x5a, 0xff} {
				damaged := bytes.Clone(block)
				damaged[at] ^= change
				got := Suspects(damaged)
				if len(got) == 0 {
					t.Fatalf("no suspects for a wrong sum")
				}
				first := got[0]
				if first.Byte != at || first.Want != block[at] || first.Evidence != Mends {
					t.Errorf("byte %02X from %02X to %02X: first is byte %02X, %s: %s", at, block[at], damaged[at], first.Byte, first.Evidence, first.Text)
				}
				tried++
			}
		}
	}
	if tried < 300 {
		t.Errorf("only %d changes tried", tried)
	}
}

// A flipped bit anywhere leaves the true byte among the candidates of one bit.
func TestSuspectsHoldFlippedBit(t *testing.T) {
	blocks := sumSoundBlocks(t)
	rapid.Check(t, func(t *rapid.T) {
		block := rapid.SampledFrom(blocks).Draw(t, "block")
		at := rapid.IntRange(0, BlockSize-1).Draw(t, "byte")
		damaged := bytes.Clone(block)
		damaged[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		i := slices.IndexFunc(Suspects(damaged), func(s ByteSuspect) bool { return s.Byte == at })
		if i < 0 {
			t.Fatalf("byte %02X is not among the suspects", at)
		}
		if s := Suspects(damaged)[i]; s.Bits != 1 || s.Want != block[at] {
			t.Fatalf("byte %02X: got %d bits and %02X, want one bit and %02X", at, s.Bits, s.Want, block[at])
		}
	})
}

// A flipped bit that breaks a rule always leaves the true byte among those that
// mend. In base and CTA blocks it stands first nine times of ten; a section of
// DisplayID has a sum of its own, which accuses all of its bytes alike.
func TestSuspectsRankFlippedBit(t *testing.T) {
	broken, first := 0, 0
	for _, block := range sumSoundBlocks(t) {
		if block[0] == checkExtDisplayID {
			continue
		}
		for at := range BlockSize - 1 {
			damaged := bytes.Clone(block)
			damaged[at] ^= 1 << (at % 8)
			if len(sumJudge(damaged)) == 0 {
				continue
			}
			broken++
			suspects := Suspects(damaged)
			i := slices.IndexFunc(suspects, func(s ByteSuspect) bool { return s.Byte == at })
			if suspects[i].Evidence != Mends {
				t.Errorf("byte %02X broke a rule, but has evidence %q", at, suspects[i].Evidence)
			}
			if i == 0 {
				first++
			}
		}
	}
	if broken < 500 || first*10 < broken*9 {
		t.Errorf("the true byte is first %d times of %d", first, broken)
	}
}

// Every suspect makes the sum right, and each byte is one.
func TestSuspectsMakeSumRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		block := rapid.SliceOfN(rapid.Byte(), BlockSize, BlockSize).Draw(t, "block")
		suspects := Suspects(block)
		if right := sumOf(block) == 0; right != (len(suspects) == 0) {
			t.Fatalf("sum right is %v, and there are %d suspects", right, len(suspects))
		}
		seen := map[int]bool{}
		for _, s := range suspects {
			changed := bytes.Clone(block)
			changed[s.Byte] = s.Want
			if sumOf(changed) != 0 {
				t.Fatalf("byte %02X to %02X leaves sum %02X", s.Byte, s.Want, sumOf(changed))
			}
			seen[s.Byte] = true
		}
		if len(suspects) > 0 && len(seen) != BlockSize {
			t.Fatalf("%d bytes are suspects, want all", len(seen))
		}
	})
}

func TestSuspectsOfSoundBlocks(t *testing.T) {
	for _, block := range sumSoundBlocks(t) {
		if got := Suspects(block); got != nil {
			t.Errorf("a right sum has suspects: %v", got[0].Text)
		}
		swapped := bytes.Clone(block)
		swapped[10], swapped[11] = swapped[11], swapped[10]
		if got := Suspects(swapped); got != nil {
			t.Errorf("two bytes that changed places have suspects: %v", got[0].Text)
		}
	}
	if got := Suspects(make([]byte, 100)); got != nil {
		t.Errorf("a part of a block has suspects")
	}
}

// A byte that may have any value leaves the case open, and the words say so.
func TestSuspectsStayOpen(t *testing.T) {
	block := bytes.Clone(sumSoundBlocks(t)[0])
	block[12] ^= 0x24 // serial number
	suspects := Suspects(block)
	if suspects[0].Evidence == Mends {
		t.Fatalf("nothing is broken, but the first suspect mends %v", suspects[0].Mends)
	}
	// 24 is the sum of two bits, and no byte makes one bit of it.
	if got := Certainty(suspects); !strings.HasPrefix(got, "Not decided by the sum alone, and no single flipped bit") {
		t.Errorf("two bits: got %q", got)
	}
	oneBit := bytes.Clone(sumSoundBlocks(t)[0])
	oneBit[12] ^= 0x40
	if got := Certainty(Suspects(oneBit)); !strings.HasPrefix(got, "Not decided by the sum alone: bit 6 of one of ") || !strings.Contains(got, " 0C ") {
		t.Errorf("one bit: got %q", got)
	}
	if got := Certainty(nil); got != "" {
		t.Errorf("no suspects: got %q", got)
	}
	at := slices.IndexFunc(suspects, func(s ByteSuspect) bool { return s.Byte == BlockSize-1 })
	if got := suspects[at].Evidence; got != SumByte {
		t.Errorf("the checksum byte has evidence %q, want %q", got, SumByte)
	}
}

func TestSums(t *testing.T) {
	// 127 bytes of 01 add up to 7F; 81 makes it 100.
	block := bytes.Repeat([]byte{1}, BlockSize)
	data := append(bytes.Clone(block), block...)
	data[BlockSize-1] = 0x81
	want := []BlockSum{
		{Block: 0, Want: 0x81, Have: 0x81, OK: true},
		{Block: 1, Want: 0x81, Have: 0x01, OK: false},
	}
	if diff := cmp.Diff(want, Sums(append(data, 1, 2, 3))); diff != "" {
		t.Error(diff)
	}
}

// One byte of a detailed timing that a standard gives to the pixel (VESA DMT 1.13, id
// 1Bh: 1280x800 with reduced blanking at 71 MHz) is found first wherever the change
// breaks no rule, which no other byte of the block then is.
func TestSuspectsKnowTimingsOfStandards(t *testing.T) {
	block := make([]byte, BlockSize)
	copy(block, []byte{0, 255, 255, 255, 255, 255, 255, 0, 0x47, 0x57, 1, 0x13, 0, 0, 0, 0, 12, 19, 1, 3, 0x80, 29, 18, 120, 0x0a})
	copy(block[54:], []byte{0xbc, 0x1b, 0x00, 0xa0, 0x50, 0x20, 0x17, 0x30, 0x30, 0x20, 0x36, 0x00, 0x1e, 0xb3, 0x10, 0, 0, 0x1a})
	block[127] = -sumOf(block)
	if name := knownTiming(block[54:72]); !strings.Contains(name, "id 1Bh") {
		t.Fatalf("the timing is said to be %q", name)
	}
	found := 0
	for i := 54; i < 72; i++ {
		for bit := range 8 {
			hurt := slices.Clone(block)
			hurt[i] ^= 1 << bit
			list := Suspects(hurt)
			if at := slices.IndexFunc(list, func(s ByteSuspect) bool { return s.Byte == i }); list[at].Evidence != Known {
				continue
			}
			found++
			for _, s := range list {
				if s.Evidence == Known && s.Byte != i {
					t.Errorf("byte %d bit %d: byte %d is accused as well", i, bit, s.Byte)
				}
			}
			if list[0].Evidence != Mends && list[0].Byte != i {
				t.Errorf("byte %d bit %d: byte %d comes first, %s", i, bit, list[0].Byte, list[0].Evidence)
			}
		}
	}
	if found < 20 {
		t.Errorf("only %d of 144 flipped bits are known by the timing", found)
	}
}
