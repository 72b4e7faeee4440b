package rom

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
)

// Patterns of Compare. What one read shows by itself has the pattern of that.
const (
	Same       = "reads-agree"
	Longer     = "reads-differ-in-length"
	OddRead    = "odd-read"
	SamePlace  = "same-place"
	OtherPlace = "other-place"
	Noise      = "bits-differ"
)

// Difference is one byte that is not the same in all reads.
type Difference struct {
	At     int   `json:"at"`     // byte, from 0
	Values Image `json:"values"` // one a read, in their order
	Bits   int   `json:"bits"`   // the bits that differ, as a mask
}

// Compare looks at two or more reads of the same memory. A memory gives the same
// bytes each time; what changes between reads is the line, or a cell so weak that
// it is read both ways. Header and sums tell which read is right, and three reads
// tell a bad read from a weak cell: the cell stays in its place.
func Compare(a, b []byte, more ...[]byte) ([]Difference, Finding) {
	c := comparison{reads: append([][]byte{a, b}, more...), n: len(a)}
	for _, r := range c.reads {
		c.n = min(c.n, len(r))
	}
	for i, r := range c.reads {
		if right(r) {
			c.right = append(c.right, i)
		}
	}
	c.diffs = differences(c.reads, c.n)
	f := c.verdict()
	f.Differ = c.diffs
	if len(c.diffs) == 0 {
		return c.diffs, f
	}
	voted := majority(c.reads, c.n)
	if right(voted) && 1+int(voted[126]) <= len(voted)/edid.BlockSize {
		f.Repaired = voted
	}
	switch {
	case voted != nil && (f.Repaired != nil || len(c.right) == 0):
		f.Best = voted
	case len(c.right) > 0:
		f.Best = c.reads[c.right[0]]
	}
	return c.diffs, f
}

// comparison is what Compare knows: the reads, how many bytes all of them have,
// where these differ, and which reads are right.
type comparison struct {
	reads [][]byte
	n     int
	diffs []Difference
	right []int
}

func differences(reads [][]byte, n int) []Difference {
	var list []Difference
	for i := range n {
		d := Difference{At: i}
		for _, r := range reads {
			d.Values = append(d.Values, r[i])
			d.Bits |= int(r[i] ^ reads[0][i])
		}
		if d.Bits != 0 {
			list = append(list, d)
		}
	}
	return list
}

// right reports whether header and sums of a read are right, of all blocks that the
// memory announces and the read has.
func right(r []byte) bool {
	return len(r) >= edid.BlockSize && bytes.HasPrefix(r, edid.Header()) && sums(r[:announced(r, len(r))])
}

// majority is the memory in which each byte is what more than half of three or more
// reads say; nil where a byte is open.
func majority(reads [][]byte, n int) Image {
	if len(reads) < 3 {
		return nil
	}
	out := make(Image, n)
	for i := range out {
		votes := map[byte]int{}
		for _, r := range reads {
			if votes[r[i]]++; votes[r[i]]*2 > len(reads) {
				out[i] = r[i]
			}
		}
		if votes[out[i]]*2 <= len(reads) {
			return nil
		}
	}
	return out
}

func (c comparison) verdict() Finding {
	if len(c.diffs) == 0 {
		return c.alike()
	}
	for i := range c.reads {
		if f, ok := c.wire(i); ok {
			return f
		}
	}
	f := Finding{Pattern: Noise, Score: 0.6, Where: fmt.Sprintf("first at byte 0x%02x", c.diffs[0].At), Says: c.whichRight()}
	f.Points, f.Next = line()
	good, odd := c.odd()
	switch many := len(c.reads) > 2; {
	case odd >= 0 && (many || len(c.right) > 0):
		c.oddRead(&f, good, odd)
	case many && len(c.diffs) == 1:
		f.Pattern, f.Score = SamePlace, 0.7
		f.Says += fmt.Sprintf("one byte differs between the reads, byte %d, in more than one read: a weak cell of the memory "+
			"rather than the line", c.diffs[0].At)
		f.Points = []string{"the memory"}
		f.Next = []string{"read again, more often: a weak cell stays in its place", "keep the read whose header and sums are right"}
	case many:
		f.Pattern, f.Score = OtherPlace, 0.8
		f.Says += say.Count(len(c.diffs), "byte") + " differ between the reads, in several places: the line rather than the memory"
	default:
		f.Says += say.Count(len(c.diffs), "byte") + " differ between the reads"
	}
	return f
}

// wire finds a fault of a wire that one read shows by itself.
func (c comparison) wire(i int) (Finding, bool) {
	list := Diagnose(c.reads[i][:c.n], nil)
	if slices.Contains(c.right, i) || len(list) == 0 || !list[0].Certain || !slices.Contains([]string{AllOnes, AllZeros, OneValue,
		HalfRead, Shifted, RepeatedPage, StuckAddress}, list[0].Pattern) {
		return Finding{}, false
	}
	f := list[0]
	f.Repaired = nil
	f.Where = strings.TrimSuffix(readNames([]int{i})+", "+f.Where, ", ")
	f.Says = fmt.Sprintf("%sread %d: %s", c.whichRight(), i+1, f.Says)
	return f, true
}

// alike is for reads without a difference.
func (c comparison) alike() Finding {
	if slices.ContainsFunc(c.reads, func(r []byte) bool { return len(r) != c.n }) {
		return Finding{Pattern: Longer, Certain: true, Score: 1, Where: fmt.Sprintf("after byte 0x%02x", max(0, c.n-1)),
			Says: fmt.Sprintf("the first %s are the same, then one read ends", say.Count(c.n, "byte")),
			Next: []string{"read again with the same length"}}
	}
	f := Finding{Pattern: Same, Score: 0.8, Points: []string{"the memory, or a fault that is there in every read"}}
	f.Says = fmt.Sprintf("%d reads of %s agree: what is wrong in them is in the memory or comes the same way each time",
		len(c.reads), say.Count(c.n, "byte"))
	if len(c.reads) == 2 {
		f.Score, f.Next = 0.6, []string{"a third read would make it surer"}
	}
	return f
}

// odd finds the one read that is not like the others, which agree: the right ones,
// or all but one.
func (c comparison) odd() (good, odd int) {
	for good := range c.reads {
		if len(c.right) > 0 && !slices.Contains(c.right, good) {
			continue
		}
		var others []int
		for i, r := range c.reads {
			if !bytes.Equal(r[:c.n], c.reads[good][:c.n]) {
				others = append(others, i)
			}
		}
		if len(others) == 1 && !slices.Contains(c.right, others[0]) {
			return good, others[0]
		}
	}
	return 0, -1
}

// oddRead is for one bad read: it is the read that is odd, not a cell.
func (c comparison) oddRead(f *Finding, good, odd int) {
	d := c.diffs[0]
	f.Pattern, f.Certain, f.Score, f.Where = OddRead, len(c.right) > 1, 0.9, fmt.Sprintf("read %d", odd+1)
	f.Says += fmt.Sprintf("read %d differs at byte %d (0x%02x)", odd+1, d.At, d.At)
	if more := len(c.diffs) - 1; more > 0 {
		f.Says += fmt.Sprintf(" and %d more", more)
	}
	others := map[bool]string{true: "the other", false: "the others"}[len(c.reads) == 2]
	f.Says += fmt.Sprintf(": it read %02X there and %02X in %s", d.Values[odd], d.Values[good], others)
	use := fmt.Sprintf("go on with read %d", good+1)
	if len(c.right) == 0 {
		f.Score, use = 0.7, "header or sums are right in no read, though all but one agree: read again"
	}
	f.Next = append([]string{use}, f.Next...)
}

// whichRight says first which reads are right, when not all or none are.
func (c comparison) whichRight() string {
	switch len(c.right) {
	case 0, len(c.reads):
		return ""
	case 1:
		return readNames(c.right) + " is right (header and sums); "
	}
	return readNames(c.right) + " are right (header and sums); "
}

// readNames names reads as people count them: reads 1, 2 and 4.
func readNames(list []int) string {
	var names []string
	for _, i := range list {
		names = append(names, strconv.Itoa(i+1))
	}
	last := len(names) - 1
	if last == 0 {
		return "read " + names[0]
	}
	return "reads " + strings.Join(names[:last], ", ") + " and " + names[last]
}

// line is what a read with wrong bits points to, and what to do next.
func line() (points, next []string) {
	return []string{"slow edges: weak pull-up, long cable, a clock too fast", "a contact of the cable",
			"noise from a converter beside the line"},
		[]string{"read at a tenth of the clock and compare again", plug + "reseat the cable",
			scope + "rise of data and clock from 30 % to 70 %: at most 1000 ns at 100 kHz, 300 ns at 400 kHz"}
}
