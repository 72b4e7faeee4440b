package edid

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// soundBlock is one block of a dump of the corpus (testdata/corpus/README.md) that is
// sound as its maker wrote it, with the whole dump around it.
type soundBlock struct {
	name string
	data []byte
	n    int
}

func (s soundBlock) block() []byte { return s.data[s.n*BlockSize:][:BlockSize] }

// with is the dump with one byte of the block changed.
func (s soundBlock) with(at int, v byte) []byte {
	data := bytes.Clone(s.data)
	data[s.n*BlockSize+at] = v
	return data
}

func soundBlocks(t testing.TB) []soundBlock {
	t.Helper()
	var all []soundBlock
	for _, d := range readCorpus(t) {
		if !Sound(d.data) {
			continue
		}
		for n := range min(1+int(d.data[126]), len(d.data)/BlockSize) {
			all = append(all, soundBlock{d.name, d.data, n})
		}
	}
	if len(all) < 70 {
		t.Fatalf("only %d sound blocks", len(all))
	}
	return all
}

// TestHitRate changes one byte of each block of the corpus, many times and with fixed
// seeds, and says how often a byte is named, and how often it is the right one. What
// is named is to be right in 95 of 100.
func TestHitRate(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 128))
	for _, kind := range []struct {
		name  string
		flip  func() byte
		least int // of 100 changes that are named
	}{
		{"any value", func() byte { return byte(1 + rnd.IntN(255)) }, 50},
		{"one bit", func() byte { return 1 << rnd.IntN(8) }, 45},
	} {
		tried, named, right := 0, 0, 0
		for _, s := range soundBlocks(t) {
			for range 10 {
				at := rnd.IntN(BlockSize)
				tried++
				if g, ok := findSuspect(s.with(at, s.block()[at]^kind.flip()), s.n); ok {
					named++
					if g.Byte == at && g.Want == s.block()[at] {
						right++
					}
				}
			}
		}
		t.Logf("%s: of %d wrong bytes %d were named, %d of them right (%.1f %%)", kind.name, tried, named, right,
			100*float64(right)/float64(named))
		if named*100 < kind.least*tried || right*100 < 95*named {
			t.Errorf("%s: of %d wrong bytes %d were named, %d of them right", kind.name, tried, named, right)
		}
	}
}

// Where two bytes are wrong, a guess of one can be wrong as well: at most one time in
// fifty one is named that is neither.
func TestTwoWrongBytesAreSeldomNamed(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 128))
	tried, wrong := 0, 0
	for _, s := range soundBlocks(t) {
		for range 10 {
			a, b := rnd.IntN(BlockSize), rnd.IntN(BlockSize)
			data := s.with(a, byte(rnd.Uint32()))
			data[s.n*BlockSize+b] ^= byte(1 + rnd.IntN(255))
			tried++
			if g, ok := findSuspect(data, s.n); ok && g.Byte != a && g.Byte != b {
				wrong++
			}
		}
	}
	t.Logf("of %d pairs %d had a third byte named", tried, wrong)
	if wrong*50 > tried {
		t.Errorf("of %d pairs %d had a third byte named", tried, wrong)
	}
}

// Bytes for which the standard knows one value only (E-EDID A.2, 3.3 and 3.5) are
// always named, whatever they were changed to.
func TestConstantBytesAreNamed(t *testing.T) {
	for _, s := range soundBlocks(t) {
		// 908 and 910 are made to break as many rules as they can.
		if s.n > 0 || s.name > "900" {
			continue
		}
		for _, at := range []int{1, 2, 3, 4, 5, 6, 18} {
			for _, change := range []byte{0x01, 0x5a, 0xff} {
				g, ok := findSuspect(s.with(at, s.block()[at]^change), 0)
				switch {
				case ok && (g.Byte != at || g.Want != s.block()[at]):
					t.Errorf("%s: byte %02X by %02X: %s", s.name, at, change, g)
				case !ok && oddOf(s) == 0:
					t.Errorf("%s: byte %02X by %02X is not named: %+v", s.name, at, change, g)
				}
			}
		}
	}
}

func oddOf(s soundBlock) int {
	_, broken := oddity(s.block(), s.n, extensionsOf(s.data))
	return broken
}

// What makers break anyway is no evidence: a sound block that breaks a rule is not said
// to be wrong there when the wrong byte is one that may have any value.
func TestHabitsAreNoEvidence(t *testing.T) {
	found, tried, wrong := 0, 0, 0
	for _, s := range soundBlocks(t) {
		if s.n > 0 || oddOf(s) == 0 {
			continue
		}
		found++
		for _, at := range []int{10, 11, 12, 25} { // product, serial number, low bits of colours
			for bit := range 8 {
				tried++
				if g, ok := findSuspect(s.with(at, s.block()[at]^1<<bit), 0); ok && g.Byte != at {
					wrong++ // by chance the same change would mend what its maker broke
					t.Logf("%s, byte %02X, bit %d: %s", s.name, at, bit, g)
				}
			}
		}
	}
	if found < 4 || wrong*16 > tried {
		t.Errorf("%d blocks break a rule; of %d changes elsewhere %d were put down to that", found, tried, wrong)
	}
}

// The suspect makes the sum right, and a right sum has none.
func TestSuspectMakesSumRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		block := rapid.SliceOfN(rapid.Byte(), BlockSize, BlockSize).Draw(t, "block")
		if rapid.Bool().Draw(t, "header") {
			copy(block, Header())
		}
		n := rapid.IntRange(0, 1).Draw(t, "n")
		s, ok := findSuspect(append(make([]byte, n*BlockSize), block...), n)
		if ok && (Sum(block) == 0 || Sum(block)-s.Have+s.Want != 0 || block[s.Byte] != s.Have || s.Share < sure || s.Share > 1) {
			t.Fatalf("%+v", s)
		}
	})
	for _, s := range soundBlocks(t) {
		if g, ok := findSuspect(s.data, s.n); ok {
			t.Errorf("%s: a right sum has a suspect: %v", s.name, g)
		}
	}
	for _, n := range []int{-1, 0, 1} {
		if g, ok := findSuspect(make([]byte, 100), n); ok {
			t.Errorf("block %d of 100 bytes has a suspect: %v", n, g)
		}
	}
}

func TestSuspectSaysWhatItIsWorth(t *testing.T) {
	for _, tt := range []struct {
		s    Suspect
		want string
	}{
		{Suspect{Byte: 3, Have: 0xFE, Want: 0xFF}, "Most likely byte 03 of block 0 is off: it reads FE, and FF would make " +
			"the sum right. This holds for one wrong byte"},
		{Suspect{Block: 1, Byte: 127}, "Most likely byte 7F of block 1, the checksum byte itself, is off"},
	} {
		if got := tt.s.String(); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%q", got)
		}
	}
}
