package draw

import "example.org/walkback/trace/draw/ink"

// The colours are those of package ink. No meaning rests on colour alone: each
// has its own stroke or icon and its own word as well.

var (
	titleType  = ink.Title
	textType   = ink.Body
	labelType  = ink.Bold(13)
	detailType = ink.Regular(10.5)
	smallType  = ink.Small
	tagType    = ink.Bold(9)
)

// head is the form of an arrow head.
type head uint8

const (
	filledHead head = iota
	openHead        // two strokes
	hollowHead      // a triangle filled white
)

// classStyle is how one Class of edge looks and how much a straight course of
// it is worth to the layout.
type classStyle struct {
	line   ink.Stroke
	head   head
	length float64 // of the arrow head
	weight int
	legend string
}

var classStyles = [...]classStyle{
	Power:  {ink.Solid(ink.Black, 3.4), filledHead, 11, 30, "power"},
	Enable: {ink.Dashed(ink.Blue, 1.8, "7 4"), filledHead, 9, 4, "enable"},
	Data:   {ink.Solid(ink.Black, 1.1), filledHead, 8, 6, "data"},
	Sense:  {ink.Dashed(ink.Purple, 1.8, "1.8 3.2"), filledHead, 8, 2, "sense"},
	Return: {ink.Dashed("#808080", 1.2, "14 5"), openHead, 8, 2, "return"},
	Load:   {ink.Solid(ink.Soft, 1.2), hollowHead, 9, 2, "load, can pull the net down"},
}

// knowledgeStyle is how the outline of a node looks and which word it carries.
type knowledgeStyle struct {
	outline ink.Stroke
	fill    string
	word    string // "" draws no badge
	icon    string // SVG path in a square of 10 by 10
	legend  string
}

var knowledgeStyles = [...]knowledgeStyle{
	NotProbed:  {ink.Solid(ink.Black, 1.3), ink.White, "", "", "not probed yet"},
	ReadsRight: {ink.Solid(ink.Green, 2.4), ink.White, "reads right", "M1 5.5L4 8.5L9 1.5", "reads right"},
	ReadsWrong: {ink.Solid(ink.Vermillion, 3.6), "#fdeee4", "reads wrong", "M1.5 1.5L8.5 8.5M8.5 1.5L1.5 8.5", "reads wrong"},
	Cleared:    {ink.Dashed("#808080", 1.4, "3 3"), "#f2f2f2", "cannot be it", "M1 5L9 5", "cannot be it"},
	Suspect:    {ink.Dashed(ink.Orange, 2.8, "9 4"), "#fff6df", "suspect", "M5 0.8L9.4 9L0.6 9ZM5 3.6L5 6.2M5 7.2L5 8", "suspect"},
}

// A value from outside the lists is drawn as the first of its list.
func styleOf(c Class) classStyle {
	if int(c) >= len(classStyles) {
		c = Power
	}
	return classStyles[c]
}

func styleOfKnowledge(k Knowledge) knowledgeStyle {
	if int(k) >= len(knowledgeStyles) {
		k = NotProbed
	}
	return knowledgeStyles[k]
}
