package netlist

import (
	"fmt"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// Weight tells how many times as often as usual something fails, from a board file or a
// file of a shop.
type Weight struct {
	Part   PartID // None for all parts of a kind
	Kind   *Kind
	Fault  string // one fault of it, empty for all
	Factor float64
}

// Bounds of a factor: neither for good nor for sure is anything sound or broken.
const leastFactor, mostFactor = 1e-3, 1e3

var factorRange = fmt.Sprintf("a number from %g to %g; 1 changes nothing", leastFactor, mostFactor)

const weightForm = "a kind or part, perhaps with :FAULT, and a factor, such as capacitor 2 or fuse:open 0.5"

// Factor returns how many times as often as usual a fault of a part is to be expected, by
// its attribute weight and by Weights; where several name it they multiply.
func (b *Board) Factor(id PartID, f *Fault) float64 {
	p := &b.Parts[id]
	x := 1.0
	if a, ok := p.Attr("weight"); ok {
		x = a.Value
	}
	for _, w := range b.Weights {
		if (w.Part == id || w.Part == None && w.Kind == p.Kind) && (w.Fault == "" || w.Fault == f.Name) {
			x *= w.Factor
		}
	}
	return x
}

// weight reads what fails how often; the mistake has the word in question for its text.
func (b *Board) weight(what, factor string) (Weight, *mistake.Mistake) {
	name, fault, some := strings.Cut(what, ":")
	w := Weight{Part: None, Kind: KindByName(name), Fault: fault}
	if id, ok := b.FindPart(name); ok && w.Kind == nil {
		w.Part, w.Kind = id, b.Parts[id].Kind
	}
	if w.Kind == nil {
		return w, &mistake.Mistake{Text: name, Msg: fmt.Sprintf("no kind or part is called %q", name), Want: weightForm,
			Near: mistake.Nearest(name, append(KindNames(), b.PartNames()...))}
	}
	if some {
		var names []string
		for _, f := range w.Kind.Faults {
			names = append(names, f.Name)
		}
		i := FindName(names, fault)
		if i < 0 {
			return w, &mistake.Mistake{Text: what, Msg: fmt.Sprintf("a %s does not fail by %q", w.Kind.Name, fault), Want: mistake.OneOf(names),
				Near: mistake.Nearest(fault, names)}
		}
		w.Fault = names[i]
	}
	v, err := ParseValue(factor, NoUnit)
	if err != nil || v < leastFactor || v > mostFactor {
		return w, &mistake.Mistake{Text: factor, Msg: fmt.Sprintf("%q is not a factor", factor),
			Want: factorRange}
	}
	w.Factor = v
	return w, nil
}

// ParseWeights reads a file of a shop: a line WHAT FACTOR each, such as "capacitor 2" or
// "fuse:open 0.5", with # comments.
func (b *Board) ParseWeights(name, text string) ([]Weight, []mistake.Mistake) {
	var list []Weight
	problems := ListLines(name, text, func(number int, line string) *mistake.Mistake {
		bare, _, _ := strings.Cut(line, "#")
		words := strings.Fields(bare)
		if len(words) == 0 {
			return nil
		}
		m := &mistake.Mistake{Text: strings.TrimSpace(bare), Msg: "this is not a name and a factor", Want: weightForm}
		if len(words) == 2 {
			var w Weight
			if w, m = b.weight(words[0], words[1]); m == nil {
				list = append(list, w)
				return nil
			}
		}
		return Point(*m, "weight", name, number, line)
	})
	return list, problems
}
