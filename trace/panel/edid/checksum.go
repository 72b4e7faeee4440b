package edid

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/trace/panel/mode"
)

// BlockSum is the verdict over the checksum of one block.
type BlockSum struct {
	Block int  `json:"block"`
	Want  byte `json:"want"` // the value that the other 127 bytes ask for
	Have  byte `json:"have"` // the value that byte 127 has
	OK    bool `json:"ok"`
}

// sumOf adds bytes modulo 256.
func sumOf(b []byte) byte {
	var sum byte
	for _, v := range b {
		sum += v
	}
	return sum
}

// sumWant is the last byte of a block for which all its bytes add up to 0 modulo 256.
func sumWant(block []byte) byte { return -sumOf(block[:BlockSize-1]) }

// Sums gives the verdict for each whole block of the data. A right sum proves
// little: two bytes that changed places, or two errors that cancel, leave it right.
func Sums(data []byte) []BlockSum {
	var sums []BlockSum
	for n := 0; (n+1)*BlockSize <= len(data); n++ {
		b := data[n*BlockSize : (n+1)*BlockSize]
		s := BlockSum{Block: n, Want: sumWant(b), Have: b[BlockSize-1]}
		s.OK = s.Want == s.Have
		sums = append(sums, s)
	}
	return sums
}

// Evidence is what speaks for one byte being the wrong one, the strongest first.
type Evidence string

const (
	// Mends says that the change also puts right what broke a rule of the standard.
	Mends Evidence = "mends"
	// Known says that the change makes a detailed timing one that a standard gives,
	// to the pixel, which it is not now.
	Known Evidence = "known timing"
	// OneBit says that the change is one bit, as a stuck or flipped bit makes it.
	OneBit Evidence = "one bit"
	// SumByte says that it is the checksum itself, which is wrong when somebody changed
	// bytes and did not renew it.
	SumByte Evidence = "checksum byte"
	// SumOnly says that nothing but the sum speaks for it.
	SumOnly Evidence = "sum only"
	// Breaks says that the change would break a rule that is kept now.
	Breaks Evidence = "breaks"
)

// rank orders evidence.
func (e Evidence) rank() int {
	return slices.Index([]Evidence{Mends, Known, OneBit, SumByte, SumOnly, Breaks}, e)
}

// ByteSuspect is a byte whose change alone makes the sum of its block right.
type ByteSuspect struct {
	Byte     int      `json:"byte"` // offset in the block
	Have     byte     `json:"have"`
	Want     byte     `json:"want"`
	Bits     int      `json:"bits"` // bits that differ
	Evidence Evidence `json:"evidence"`
	Mends    []string `json:"mends,omitempty"`  // rules that would be kept again
	Breaks   []string `json:"breaks,omitempty"` // rules that would be broken
	Score    float64  `json:"score"`            // what the rules say; above 0 speaks for the byte
	Text     string   `json:"text"`
}

// Suspects ranks the bytes of a block with a wrong sum, the likeliest first, and
// gives nothing for a block whose sum is right. The sum alone accuses all 128 bytes
// alike: each has one value that makes it right. The order comes from what else
// each change would do, see Evidence. One wrong byte is assumed; when more are
// wrong, the answer is worth nothing.
func Suspects(block []byte) []ByteSuspect {
	if len(block) != BlockSize {
		return nil
	}
	delta := -sumOf(block)
	if delta == 0 {
		return nil
	}
	before := sumJudge(block)
	suspects := make([]ByteSuspect, 0, BlockSize)
	changed := slices.Clone(block)
	for i, have := range block {
		changed[i] = have + delta
		s := sumWeigh(i, have, have+delta, before, sumJudge(changed))
		s.knowTiming(block, changed)
		suspects = append(suspects, s)
		changed[i] = have
	}
	slices.SortStableFunc(suspects, func(a, b ByteSuspect) int {
		return cmp.Or(cmp.Compare(a.Evidence.rank(), b.Evidence.rank()), cmp.Compare(b.Score, a.Score), cmp.Compare(a.Bits, b.Bits))
	})
	return suspects
}

// knowTiming looks whether the change of a byte in a detailed timing of a base block
// makes that a mode of DMT, CVT or GTF.
func (s *ByteSuspect) knowTiming(block, changed []byte) {
	if s.Evidence == Breaks || s.Evidence == Mends || !checkHeaderLike(block) {
		return
	}
	for at := 54; at < 126; at += 18 {
		if s.Byte < at || s.Byte >= at+18 || le16(block[at:]) == 0 || knownTiming(block[at:at+18]) != "" {
			continue
		}
		if name := knownTiming(changed[at : at+18]); name != "" {
			s.Evidence = Known
			s.Text += "; the timing is then that of " + name
		}
	}
}

// knownTiming names the standard that gives a detailed timing to the pixel, its
// clock to the 10 kHz that the timing is written in; empty when none does.
func knownTiming(d []byte) string {
	if le16(d) == 0 {
		return ""
	}
	t := checkReadTiming(d).mode
	for _, m := range mode.Alternatives(t.H.Active, t.V.Active, math.Round(t.Rate())) {
		if m.H == t.H && m.V == t.V && math.Abs(m.Clock-t.Clock) < 10e3 {
			return m.Origin
		}
	}
	return ""
}

// sumJudge gives the violations of a block alone, without that of the sum.
func sumJudge(block []byte) []Violation {
	f := newCheckFinder(block, 0)
	if checkHeaderLike(block) {
		f.baseBlock()
	} else {
		f.n = 1
		f.extension()
	}
	return slices.DeleteFunc(f.found, func(v Violation) bool { return v.Rule == "checksum" })
}

// sumKey tells violations apart by rule and place, not by their text, which
// names values.
type sumKey struct {
	rule      string
	byte, len int
	severity  Severity
}

// sumWeigh holds the violations before and after a change against each other. A
// violation of few bytes says more about a byte in it than one of many; one that
// lies elsewhere says little.
func sumWeigh(i int, have, want byte, before, after []Violation) ByteSuspect {
	s := ByteSuspect{Byte: i, Have: have, Want: want, Bits: bits.OnesCount8(have ^ want)}
	count := map[sumKey]int{}
	for _, v := range after {
		count[v.key()]++
	}
	for _, v := range before {
		if k := v.key(); count[k] > 0 {
			count[k]--
			continue
		}
		s.Mends = append(s.Mends, v.Rule)
		s.Score += v.weight(i)
	}
	for _, v := range after {
		if k := v.key(); count[k] > 0 {
			count[k]--
			s.Breaks = append(s.Breaks, v.Rule)
			s.Score -= v.weight(i)
		}
	}
	s.Evidence = s.judgeEvidence()
	s.Text = s.explain()
	return s
}

func (v Violation) key() sumKey {
	return sumKey{v.Rule, v.Byte % BlockSize, v.Len, v.Severity}
}

// weight is what a violation says about byte i of its block. The numbers are a
// choice: a warning counts a quarter of a failure.
func (v Violation) weight(i int) float64 {
	w := 1.0
	if v.Severity == Warns {
		w = 0.25
	}
	at := v.Byte % BlockSize
	if i < at || i >= at+v.Len {
		return w / BlockSize
	}
	return w / float64(v.Len)
}

func (s ByteSuspect) judgeEvidence() Evidence {
	switch {
	case s.Score > 0:
		return Mends
	case s.Score < 0 || len(s.Breaks) > 0:
		return Breaks
	case s.Byte == BlockSize-1:
		return SumByte
	case s.Bits == 1:
		return OneBit
	}
	return SumOnly
}

// explain says what speaks for the byte.
func (s ByteSuspect) explain() string {
	text := fmt.Sprintf("byte %02X of the block reads %02X; %02X would make the sum right", s.Byte, s.Have, s.Want)
	if s.Bits == 1 {
		text += fmt.Sprintf(", one bit (bit %d) away", bits.TrailingZeros8(s.Have^s.Want))
	}
	switch s.Evidence {
	case Mends:
		text += " and also end " + sumRuleNames(s.Mends)
	case SumByte:
		text += ": the checksum byte itself, which is wrong when bytes were changed and it was not renewed"
	case Breaks:
		text += ", but would cause " + sumRuleNames(s.Breaks)
	}
	return text
}

// sumRuleNames lists rules, each once.
func sumRuleNames(rules []string) string {
	var once []string
	for _, r := range rules {
		if r = strconv.Quote(r); !slices.Contains(once, r) {
			once = append(once, r)
		}
	}
	word := "the violation "
	if len(once) > 1 {
		word = "the violations "
	}
	return word + strings.Join(once, " and ")
}

// Certainty says how much a ranking is worth, for people.
func Certainty(suspects []ByteSuspect) string {
	if len(suspects) == 0 {
		return ""
	}
	mends, known, bit := 0, 0, 0
	var oneBit []byte // offsets
	for _, s := range suspects {
		switch s.Evidence {
		case Mends:
			mends++
		case Known:
			known++
		case OneBit:
			oneBit = append(oneBit, byte(s.Byte))
			bit = bits.TrailingZeros8(s.Have ^ s.Want)
		}
	}
	const (
		renew  = "or the checksum byte was never renewed after a change."
		caveat = " All this holds for one wrong byte; read the memory again before you change one."
	)
	switch {
	case mends == 1:
		return "It is the only byte whose change would end another violation too: most likely that byte, " + renew + caveat
	case mends > 1:
		return fmt.Sprintf("Of %d bytes a change would end another violation too, the best one first: most likely one of them, ", mends) + renew + caveat
	case known > 0:
		return "The first one makes a timing that of a standard, to the pixel: most likely that byte, " + renew + caveat
	case len(oneBit) > 0:
		return fmt.Sprintf("Not decided by the sum alone: bit %d of one of %d bytes (% X), ", bit, len(oneBit), oneBit) + renew + caveat
	}
	return "Not decided by the sum alone, and no single flipped bit explains it: any byte, " + renew + caveat
}
