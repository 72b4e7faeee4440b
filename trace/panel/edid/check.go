package edid

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
)

// Severity says how much a violation weighs.
type Severity string

const (
	// Fails is a rule of the standard that the data does not keep.
	Fails Severity = "fails"
	// Warns is data that the standard allows or leaves open, and that is hardly meant.
	Warns Severity = "warns"
)

// Violation is one place where the data does not do what the standard asks.
type Violation struct {
	Block    int      `json:"block"` // number of the 128-byte block, the base block is 0
	Byte     int      `json:"byte"`  // offset in the whole data
	Len      int      `json:"len"`   // bytes concerned
	Severity Severity `json:"severity"`
	Rule     string   `json:"rule"` // a short name that stays the same
	Standard string   `json:"standard"`
	Clause   string   `json:"clause"` // number and title; the title alone where the number is not known
	Text     string   `json:"text"`   // what is there and what the standard asks
}

// Check names every violation that it finds, in the order of the bytes. It judges
// raw bytes, knows no clock (a year in the future is not its business), and needs
// no successful decoding. Data that is no EDID at all gives one violation.
func Check(data []byte) []Violation {
	if v, ok := checkNoEDID(data); ok {
		return []Violation{v}
	}
	base := newCheckFinder(data[:BlockSize], 0)
	base.baseBlock()
	found := base.found
	for n := 1; (n+1)*BlockSize <= len(data); n++ {
		f := newCheckFinder(data[n*BlockSize:(n+1)*BlockSize], n)
		f.ctx = base.ctx
		f.extension()
		found = append(found, f.found...)
	}
	found = append(found, checkWhole(data, base)...)
	slices.SortStableFunc(found, func(a, b Violation) int {
		return cmp.Or(cmp.Compare(a.Block, b.Block), cmp.Compare(a.Byte, b.Byte), cmp.Compare(b.Len, a.Len))
	})
	return found
}

// checkHeader is the fixed pattern at the start of a base block.
func checkHeader() []byte { return []byte{0, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0} }

// checkHeaderHits counts the bytes of the header that are right.
func checkHeaderHits(data []byte) int {
	hits := 0
	for i, want := range checkHeader() {
		if i < len(data) && data[i] == want {
			hits++
		}
	}
	return hits
}

// checkEnoughHeader is how many of the eight header bytes must be right for data to be
// judged as an EDID with a damaged header. The number is a choice, no standard
// gives it.
const checkEnoughHeader = 6

// checkHeaderLike tells a header with up to two damaged bytes from anything else. Blank
// memory reads FF and has six right bytes too, so one of the two ends must be 00.
func checkHeaderLike(data []byte) bool {
	return checkHeaderHits(data) >= checkEnoughHeader && len(data) >= 8 && (data[0] == 0 || data[7] == 0)
}

// checkUniform is the value that all bytes share, or -1.
func checkUniform(b []byte) int {
	if len(b) == 0 || !bytes.Equal(b, bytes.Repeat(b[:1], len(b))) {
		return -1
	}
	return int(b[0])
}

// checkNoEDID is the one violation of data that is no EDID.
func checkNoEDID(data []byte) (Violation, bool) {
	if checkHeaderLike(data) && len(data) >= BlockSize {
		return Violation{}, false
	}
	f := newCheckFinder(data, 0)
	n := min(len(data), BlockSize)
	switch value := checkUniform(data[:n]); {
	case n == 0:
		f.add("no-edid", Fails, secFormat, 0, 0, "there are no bytes; an EDID has at least %d", BlockSize)
	case checkHeaderLike(data):
		f.add("no-edid", Fails, secFormat, 0, n, "only %d bytes of block 0 are there; a block has %d", n, BlockSize)
	case value >= 0:
		f.add("no-edid", Fails, secHeader, 0, n,
			"no EDID header: all bytes read %02X, so nothing answered or the memory is blank", value)
	default:
		f.add("no-edid", Fails, secHeader, 0, min(n, 8),
			"no EDID header: the data starts with % X; an EDID starts with % X", data[:min(n, 8)], checkHeader())
	}
	return f.found[0], true
}

// checkLimits are the rates of a range limits descriptor: Hz, and pixels a second.
type checkLimits struct {
	there                  bool
	vMin, vMax, hMin, hMax float64 // Hz
	clock                  float64 // Hz, 0 when not given
}

// checkContext is what the base block says about all blocks.
type checkContext struct {
	known         bool
	minor         int // revision, 4 for later ones
	digital       bool
	width, height int // image size in mm; 0 when not given
	limits        checkLimits
}

// checkFinder collects the violations of one block.
type checkFinder struct {
	b     []byte
	n     int
	ctx   checkContext
	found []Violation
}

func newCheckFinder(block []byte, n int) *checkFinder {
	return &checkFinder{b: block, n: n, ctx: checkContext{minor: 4}}
}

// add notes a violation; at is the offset in the block.
func (f *checkFinder) add(rule string, sev Severity, sec checkSection, at, n int, format string, args ...any) {
	std, clause := sec.cite(f.ctx.minor)
	f.found = append(f.found, Violation{
		Block: f.n, Byte: f.n*BlockSize + at, Len: n, Severity: sev, Rule: rule,
		Standard: std, Clause: clause, Text: fmt.Sprintf(format, args...),
	})
}

// checksum is the rule that the bytes of a block add up to 0 modulo 256.
func (f *checkFinder) checksum() {
	sec := secChecksum
	if f.n > 0 {
		sec = secExtension
	}
	if want := sumWant(f.b); want != f.b[BlockSize-1] {
		f.add("checksum", Fails, sec, BlockSize-1, 1,
			"the checksum reads %02X; the other bytes want %02X, so that all %d add up to 0 modulo 256",
			f.b[BlockSize-1], want, BlockSize)
	}
}

// zeros notes the first byte in [from, to) that is not 0.
func (f *checkFinder) zeros(rule string, sev Severity, sec checkSection, from, to int, what string) {
	for i := from; i < to; i++ {
		if f.b[i] != 0 {
			f.add(rule, sev, sec, i, 1, "%s reads %02X; it must be 00", what, f.b[i])
			return
		}
	}
}

// reserved notes reserved bits that are set.
func (f *checkFinder) reserved(rule string, sec checkSection, at int, mask byte, what string) {
	if got := f.b[at] & mask; got != 0 {
		f.add(rule, Fails, sec, at, 1, "%s reads %02X; the bits of mask %02X are reserved and must be 0", what, f.b[at], mask)
	}
}
