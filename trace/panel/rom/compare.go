package rom

import (
	"bytes"
	"fmt"
	"slices"
)

// Patterns of Compare.
const (
	Same       = "reads-agree"
	Longer     = "reads-differ-in-length"
	Moves      = "start-moves"
	BrokeOff   = "read-broke-off"
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
// it is read both ways. Three reads tell these apart: the cell stays in its place.
func Compare(a, b []byte, more ...[]byte) ([]Difference, Finding) {
	reads := append([][]byte{a, b}, more...)
	n := len(a)
	for _, r := range reads {
		n = min(n, len(r))
	}
	diffs := differences(reads, n)
	return diffs, verdict(reads, n, diffs)
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

func verdict(reads [][]byte, n int, diffs []Difference) Finding {
	if len(diffs) == 0 {
		if slices.ContainsFunc(reads, func(r []byte) bool { return len(r) != n }) {
			return Finding{Pattern: Longer, Certain: true, Score: 1, Where: fmt.Sprintf("after byte 0x%02x", max(0, n-1)),
				Says: fmt.Sprintf("the first %s are the same, then one read ends", count(n, "byte")),
				Next: []string{"read again with the same length"}}
		}
		return Finding{Pattern: Same, Certain: true, Score: 1,
			Says:   fmt.Sprintf("%d reads of %s are the same: what is wrong in them is in the memory or comes the same way each time", len(reads), count(n, "byte")),
			Points: []string{"the memory, or a fault that is always there; noise is ruled out"}}
	}
	if len(reads) == 2 {
		if f, ok := moved(reads[0][:n], reads[1][:n]); ok {
			return f
		}
		if f, ok := brokeOff(reads[0][:n], reads[1][:n], diffs[0].At); ok {
			return f
		}
	}
	return noisy(reads, diffs)
}

// moved finds one read turned against the other.
func moved(a, b []byte) (Finding, bool) {
	for k := 1; k < len(a); k++ {
		if bytes.Equal(a[k:], b[:len(b)-k]) && bytes.Equal(a[:k], b[len(b)-k:]) {
			f := described(Finding{Pattern: Shifted})
			f.Pattern, f.Certain, f.Score, f.Where = Moves, true, 1, count(k, "byte")
			f.Says = fmt.Sprintf("the second read is the first one, started %s later: the address is not set before a read", count(k, "byte"))
			return f, true
		}
	}
	return Finding{}, false
}

// brokeOff finds one read that is FF or 00 from the first difference on.
func brokeOff(a, b []byte, at int) (Finding, bool) {
	for i, r := range [][]byte{a, b} {
		end := r[at:]
		if len(end) < 8 || end[0] != 0xFF && end[0] != 0 || len(bytes.Trim(end, string(end[:1]))) > 0 {
			continue
		}
		f := described(Finding{Pattern: HalfRead})
		f.Pattern, f.Certain, f.Score, f.Where = BrokeOff, true, 1, fmt.Sprintf("read %d from byte 0x%02x on", i+1, at)
		f.Says = fmt.Sprintf("read %d is %02X from byte 0x%02x on, the other one goes on: the read broke off", i+1, end[0], at)
		return f, true
	}
	return Finding{}, false
}

// noisy tells a weak cell from a weak line.
func noisy(reads [][]byte, diffs []Difference) Finding {
	f := Finding{Pattern: Noise, Score: 0.6, Where: fmt.Sprintf("first at byte 0x%02x", diffs[0].At)}
	f.Says = fmt.Sprintf("%s differ between the reads", count(len(diffs), "byte"))
	switch {
	case len(reads) > 2 && len(diffs) == 1:
		f.Pattern, f.Score, f.Says = SamePlace, 0.8, "only one byte differs between the reads, always the same one: a weak cell of the memory"
		f.Points = []string{"the memory"}
		f.Next = []string{"keep the read whose sum is right"}
		return f
	case len(reads) > 2:
		f.Pattern, f.Score = OtherPlace, 0.8
		f.Says += ", in several places: the line rather than the memory"
	}
	f.Points = []string{"slow edges: weak pull-up, long cable, a clock too fast", "a contact of the cable", "noise from a converter beside the line"}
	f.Next = []string{"read at a tenth of the clock and compare again", plug + "reseat the cable",
		scope + "rise of data and clock from 30 % to 70 %: at most 1000 ns at 100 kHz, 300 ns at 400 kHz"}
	return f
}
