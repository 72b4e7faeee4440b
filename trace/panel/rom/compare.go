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
	Same      = "reads-agree"
	Longer    = "reads-differ-in-length"
	OddRead   = "odd-read"
	SamePlace = "same-place"
	Noise     = "bits-differ"
)

// Difference is one byte that is not the same in all reads.
type Difference struct {
	At     int   `json:"at"`     // byte, from 0
	Values Image `json:"values"` // one a read, in their order
}

// Compare looks at two or more reads of the same memory. A memory gives the same
// bytes each time; what changes between reads is the line, or a cell so weak that
// it is read both ways. Header and sums tell which read is right, and three reads
// tell a bad read from a weak cell: the cell stays in its place.
func Compare(reads ...[]byte) Finding {
	c := comparison{reads: reads, n: len(reads[0])}
	for i, r := range reads {
		c.n = min(c.n, len(r))
		if right(r) {
			c.right = append(c.right, i)
		}
	}
	for i := range c.n {
		d := Difference{At: i}
		for _, r := range reads {
			d.Values = append(d.Values, r[i])
		}
		if !oneValue(d.Values) {
			c.diffs = append(c.diffs, d)
		}
	}
	f := described(c.verdict())
	if f.Differ = c.diffs; len(c.diffs) == 0 {
		return f
	}
	voted := majority(reads, c.n)
	if right(voted) && 1+int(voted[126]) <= len(voted)/edid.BlockSize {
		f.Repaired = voted
	}
	switch {
	case voted != nil && (f.Repaired != nil || len(c.right) == 0):
		f.Best = voted
	case len(c.right) > 0:
		f.Best = reads[c.right[0]]
	}
	return f
}

// comparison is what Compare knows: the reads, how many bytes all of them have,
// where these differ, and which reads are right.
type comparison struct {
	reads [][]byte
	n     int
	diffs []Difference
	right []int
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

// verdict names the first that holds: no difference, a fault of a wire that one read
// shows by itself, one odd read, one odd byte, and else the line.
func (c comparison) verdict() Finding {
	if len(c.diffs) == 0 {
		if slices.ContainsFunc(c.reads, func(r []byte) bool { return len(r) != c.n }) {
			return Finding{Pattern: Longer, Certain: true, Where: fmt.Sprintf("after byte 0x%02x", max(0, c.n-1)),
				Says: fmt.Sprintf("the first %s are the same, then one read ends", say.Count(c.n, "byte"))}
		}
		return Finding{Pattern: Same, Says: fmt.Sprintf("%d reads of %s agree: what is wrong in them is in the memory or "+
			"comes the same way each time", len(c.reads), say.Count(c.n, "byte"))}
	}
	for i := range c.reads {
		if f, ok := c.wire(i); ok {
			return f
		}
	}
	first := c.diffs[0]
	f := Finding{Pattern: Noise, Where: fmt.Sprintf("first at byte 0x%02x", first.At), Says: c.whichRight()}
	good, odd := c.odd()
	switch many := len(c.reads) > 2; {
	case odd >= 0 && (many || len(c.right) > 0): // it is the read that is odd, not a cell
		f.Pattern, f.Certain, f.Where = OddRead, len(c.right) > 1, readNames(odd)
		f.Says += fmt.Sprintf("read %d differs in %s: at byte %d (0x%02x) it read %02X, and read %d has %02X there", odd+1,
			say.Count(len(c.diffs), "byte"), first.At, first.At, first.Values[odd], good+1, first.Values[good])
		if f.Says += fmt.Sprintf("; go on with read %d", good+1); len(c.right) == 0 {
			f.Says += ", though header or sums are right in no read"
		}
	case many && len(c.diffs) == 1:
		f.Pattern = SamePlace
		f.Says += fmt.Sprintf("one byte differs between the reads, byte %d, in more than one read: a weak cell of the memory "+
			"rather than the line", first.At)
	default:
		f.Says += say.Count(len(c.diffs), "byte") + " differ between the reads: the line rather than the memory"
	}
	return f
}

// wire finds a fault of a wire that one read shows by itself.
func (c comparison) wire(i int) (Finding, bool) {
	list := Diagnose(c.reads[i][:c.n], nil)
	if slices.Contains(c.right, i) || len(list) == 0 || !list[0].Certain || !slices.Contains([]string{AllOnes, AllZeros, OneValue,
		HalfRead, Shifted, RepeatedPage}, list[0].Pattern) {
		return Finding{}, false
	}
	f := list[0]
	f.Repaired = nil
	f.Where = strings.TrimSuffix(readNames(i)+", "+f.Where, ", ")
	f.Says = fmt.Sprintf("%sread %d: %s", c.whichRight(), i+1, f.Says)
	return f, true
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

// whichRight says first which reads are right, when not all or none are.
func (c comparison) whichRight() string {
	switch len(c.right) {
	case 0, len(c.reads):
		return ""
	case 1:
		return readNames(c.right...) + " is right (header and sums); "
	}
	return readNames(c.right...) + " are right (header and sums); "
}

// readNames names reads as people count them: reads 1, 2 and 4.
func readNames(list ...int) string {
	names := make([]string, len(list))
	for n, i := range list {
		names[n] = strconv.Itoa(i + 1)
	}
	last := len(names) - 1
	if last == 0 {
		return "read " + names[0]
	}
	return "reads " + strings.Join(names[:last], ", ") + " and " + names[last]
}
