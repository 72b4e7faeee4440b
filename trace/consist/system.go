// Package consist finds which sets of statements cannot all be true, and which sets must be given up.
//
// A statement is "this part is healthy" or "this reading is right". Everything the package
// needs to know about the world is one question, asked through System: are all statements
// but these consistent with what was seen?
//
//	for _, d := range consist.Diagnoses(sys, 2) {
//		// giving up the statements d, and no fewer of them, explains what was seen
//	}
//
// The terms are those of R. Reiter, "A theory of diagnosis from first principles",
// Artificial Intelligence 32 (1987), and J. de Kleer and B. C. Williams, "Diagnosing
// multiple faults", the same volume. A conflict is a set of statements that cannot all be
// true; a diagnosis is a set that, given up, leaves the rest consistent. Minimal diagnoses
// are the minimal sets that hit every conflict, and the other way round. With readings as
// statements a minimal conflict is a minimal set of readings that contradict each other,
// and a minimal diagnosis is a minimal set of readings that must be wrong.
//
// Sets are ascending lists of statement numbers. Results are ordered by size, then by
// their elements, so that the same question always has the same answer.
package consist

import (
	"cmp"
	"math"
	mathbits "math/bits"
	"slices"
)

// A System is a set of statements, numbered from zero, about something that was seen.
type System interface {
	// Len is the number of statements.
	Len() int
	// Consistent tells whether all statements except those given up can be true together.
	// It must be monotone: giving up more never makes an inconsistent system out of a
	// consistent one. That holds for weak fault models, where a bad part may do anything.
	// Where a bad part has to be bad in a known way it does not; see Candidates for that.
	// The list is ascending and belongs to the caller.
	Consistent(without []int) bool
}

// An Extender is a System that can test many additions to one set faster than one by one.
type Extender interface {
	System
	// Extend returns those of more, in their order, that make an inconsistent set
	// consistent when they are given up too.
	Extend(without, more []int) []int
}

// A Refuter is a System that knows why a set is inconsistent.
type Refuter interface {
	System
	// Refute returns a conflict, not necessarily minimal, that has no statement in
	// common with the inconsistent set.
	Refute(without []int) []int
}

// All stands for no limit on the size of the sets asked for.
const All = math.MaxInt

// bySize orders sets by size, then by their elements.
func bySize(a, b []int) int {
	return cmp.Or(cmp.Compare(len(a), len(b)), slices.Compare(a, b))
}

// bits is a set of small numbers.
type bits []uint64

func newBits(n int, elems ...int) bits {
	b := make(bits, (n+63)/64)
	for _, i := range elems {
		b.add(i)
	}
	return b
}

func (b bits) add(i int)      { b[i>>6] |= 1 << (i & 63) }
func (b bits) remove(i int)   { b[i>>6] &^= 1 << (i & 63) }
func (b bits) has(i int) bool { return b[i>>6]>>(i&63)&1 != 0 }

func (b bits) meets(c bits) bool {
	for i, w := range b {
		if w&c[i] != 0 {
			return true
		}
	}
	return false
}

// count returns how many elements b and c have in common.
func (b bits) count(c bits) int {
	n := 0
	for i, w := range b {
		n += mathbits.OnesCount64(w & c[i])
	}
	return n
}

func (b bits) list() []int {
	var out []int
	for i, w := range b {
		for ; w != 0; w &= w - 1 {
			out = append(out, i<<6+mathbits.TrailingZeros64(w))
		}
	}
	return out
}
