package draw

import (
	"strconv"
	"strings"

	"example.org/walkback/trace/draw/ink"
)

// Limits that keep a node readable whatever its texts are; what is cut from
// the picture is still in the node's <title>.
const (
	labelWidth  = 150.0
	detailWidth = 106.0
	detailLines = 5
	edgeLabel   = 110.0
	writeLine   = 78.0 // length of a line to write on
	writeHeight = 19.0
	padX        = 9.0
	padY        = 6.0
	markRadius  = 9.0
	badgeHeight = 14.0
	badgeIcon   = 8.0
)

// nodeBox is a node with its texts broken into lines and its size. A net's
// wire runs at half the height, where edges join; so does the middle of all
// other shapes.
type nodeBox struct {
	Node
	width, height float64
	tag           string // role, above the label
	label         string
	mark          string
	details       []string
	blanks        int // lines to write on
	step          string
	title         string
	above, below  float64 // a plain net's text above and below its wire
}

// measure breaks the texts of n and computes its size.
func measure(n Node, blank bool) nodeBox {
	b := nodeBox{Node: n, label: labelType.Fit(orBlank(ink.Clean(n.Label)), labelWidth)}
	if blank {
		b.Knowledge, b.Points = NotProbed, nil
		b.blanks = min(max(len(n.Detail), 1), detailLines)
	} else {
		b.details = detailOf(n)
	}
	b.step = pointNumbers(b.Points)
	if n.Mark != "" {
		b.mark = smallType.Fit(ink.Clean(n.Mark), detailWidth)
	}
	switch n.Role {
	case Source:
		b.tag = "SOURCE"
	case Symptom:
		b.tag = "SYMPTOM"
	}
	b.title = describe(b, n, blank)
	if b.isWire() {
		b.measureWire()
	} else {
		b.measureBox()
	}
	return b
}

func orBlank(s string) string {
	if strings.TrimSpace(s) == "" {
		return "(no name)"
	}
	return s
}

func detailOf(n Node) []string {
	var lines []string
	for _, s := range n.Detail {
		room := detailLines - len(lines)
		if room == 0 {
			lines[detailLines-1] = detailType.Fit(lines[detailLines-1]+" …", detailWidth)
			break
		}
		lines = append(lines, detailType.Wrap(ink.Clean(s), detailWidth, min(2, room))...)
	}
	return lines
}

// isWire says whether the node is drawn as a piece of wire. The two ends of
// the path have their own shapes, nets or not.
func (b *nodeBox) isWire() bool { return b.Shape == Net && b.Role == Plain }

// pointNumbers writes the numbers of the points of the checklist that a node stands
// for, none below 1.
func pointNumbers(points []int) string {
	var words []string
	for _, n := range points {
		if n > 0 {
			words = append(words, strconv.Itoa(n))
		}
	}
	return strings.Join(words, ", ")
}

// pointText names them: "point 7".
func pointText(points []int) string {
	if len(points) == 1 {
		return "point " + pointNumbers(points)
	}
	return "points " + pointNumbers(points)
}

// hasMark says whether the numbered circle is drawn.
func (b *nodeBox) hasMark() bool { return b.mark != "" || b.step != "" }

// markR is the radius of the circle: larger where the number is long.
func (b *nodeBox) markR() float64 {
	return max(markRadius, tagType.Width(b.step)/2+3.5)
}

// footWidth is the width of the last row: the word "single" and the badge.
func (b *nodeBox) footWidth() float64 {
	w := 0.0
	if b.Single {
		w = tagType.Width("single")
	}
	if word := styleOfKnowledge(b.Knowledge).word; word != "" {
		if w > 0 {
			w += 6
		}
		w += badgeWidth(word)
	}
	return w
}

func badgeWidth(word string) float64 {
	return badgeIcon + smallType.Width(word) + 13
}

// textBlock is the size of details, lines to write on and the last row.
func (b *nodeBox) textBlock() (w, h float64) {
	for _, s := range b.details {
		w = max(w, detailType.Width(s))
		h += detailType.LineHeight()
	}
	if b.blanks > 0 {
		w = max(w, writeLine)
		h += float64(b.blanks) * writeHeight
	}
	if foot := b.footWidth(); foot > 0 {
		w = max(w, foot)
		h += badgeHeight + 4
	}
	return w, h
}

func (b *nodeBox) measureWire() {
	w, h := b.textBlock()
	b.above = labelType.LineHeight() + 3
	b.below = h + 4
	if b.hasMark() {
		b.above += b.markR() - 3
		b.below += b.markR() - 3
		w = max(w, b.markR()*2+4+smallType.Width(b.mark)+14)
		if b.mark != "" {
			b.below += 4
		}
	}
	b.width = max(w, labelType.Width(b.label), 40) + 2*padX
	b.height = 2*max(b.above, b.below) + 4
}

func (b *nodeBox) measureBox() {
	w, h := b.textBlock()
	row := labelType.Width(b.label)
	if b.hasMark() {
		row += 2*b.markR() + 5
		if b.mark != "" {
			row += smallType.Width(b.mark) + 5
		}
	}
	w = max(w, row)
	if b.tag != "" {
		w = max(w, tagType.Width(b.tag))
		h += tagType.LineHeight() + 1
	}
	b.width = w + 2*padX + 2*b.shoulder()
	b.height = h + max(labelType.LineHeight(), b.markRow()) + 2*padY
	if b.Shape == Net {
		b.height += 5 // the bar under the name
	}
}

// markRow is the height that the numbered circle needs in the label's row.
func (b *nodeBox) markRow() float64 {
	if !b.hasMark() {
		return 0
	}
	return 2*b.markR() + 2
}

// shoulder is what the slanted sides of a shape take from its width on each
// side; it also gives the inner outline of a single point of failure its room.
func (b *nodeBox) shoulder() float64 {
	s := 0.0
	if b.Single {
		s = 3
	}
	switch {
	case b.Role == Source:
		return s + 7
	case b.Role == Symptom:
		return s + 7
	case b.Shape == Fact:
		return s + 8
	}
	return s
}

// describe is the full text of a node, for screen readers and for hovering.
func describe(b nodeBox, n Node, blank bool) string {
	parts := []string{orBlank(ink.Clean(n.Label))}
	if b.tag != "" {
		parts = append(parts, strings.ToLower(b.tag))
	}
	if !blank {
		for _, s := range n.Detail {
			parts = append(parts, ink.Clean(s))
		}
	}
	if n.Mark != "" {
		parts = append(parts, "test point "+ink.Clean(n.Mark))
	}
	if len(b.Points) > 0 {
		parts = append(parts, pointText(b.Points))
	}
	if word := styleOfKnowledge(b.Knowledge).word; word != "" {
		parts = append(parts, word)
	}
	if n.Single {
		parts = append(parts, "single point of failure")
	}
	if n.Faded {
		parts = append(parts, "not on the path")
	}
	return strings.Join(parts, "; ")
}
