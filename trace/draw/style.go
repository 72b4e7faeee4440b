package draw

// The colours are those of Okabe and Ito ("Color Universal Design", 2008),
// which people with any common colour vision can tell apart. No meaning rests
// on colour alone: each has its own stroke or icon and its own word as well.
const (
	ink        = "#1a1a1a"
	softInk    = "#4d4d4d"
	fadedInk   = "#767676" // 4.5:1 on white, the least contrast WCAG 2 allows for text
	fadedLine  = "#b3b3b3"
	green      = "#009e73"
	vermillion = "#d55e00"
	orange     = "#e69f00"
	blue       = "#0072b2"
	purple     = "#a3507f" // Okabe-Ito's reddish purple, darkened to hold as a thin line
	white      = "#ffffff"
)

// stroke is how a line is drawn, lengths in user units.
type stroke struct {
	colour string
	width  float64
	dash   string // SVG stroke-dasharray, "" for a solid line
}

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
	line   stroke
	head   head
	length float64 // of the arrow head
	weight int
	legend string
}

var classStyles = [...]classStyle{
	Power:  {stroke{ink, 3.4, ""}, filledHead, 11, 30, "power"},
	Enable: {stroke{blue, 1.8, "7 4"}, filledHead, 9, 4, "enable"},
	Data:   {stroke{ink, 1.1, ""}, filledHead, 8, 6, "data"},
	Sense:  {stroke{purple, 1.8, "1.8 3.2"}, filledHead, 8, 2, "sense"},
	Return: {stroke{"#808080", 1.2, "14 5"}, openHead, 8, 2, "return"},
	Load:   {stroke{softInk, 1.2, ""}, hollowHead, 9, 2, "load, can pull the net down"},
}

// knowledgeStyle is how the outline of a node looks and which word it carries.
type knowledgeStyle struct {
	outline stroke
	fill    string
	word    string // "" draws no badge
	icon    string // SVG path in a square of 10 by 10
	legend  string
}

var knowledgeStyles = [...]knowledgeStyle{
	NotProbed:  {stroke{ink, 1.3, ""}, white, "", "", "not probed yet"},
	ReadsRight: {stroke{green, 2.4, ""}, white, "reads right", "M1 5.5L4 8.5L9 1.5", "reads right"},
	ReadsWrong: {stroke{vermillion, 3.6, ""}, "#fdeee4", "reads wrong", "M1.5 1.5L8.5 8.5M8.5 1.5L1.5 8.5", "reads wrong"},
	Cleared:    {stroke{"#808080", 1.4, "3 3"}, "#f2f2f2", "cannot be it", "M1 5L9 5", "cannot be it"},
	Suspect:    {stroke{orange, 2.8, "9 4"}, "#fff6df", "suspect", "M5 0.8L9.4 9L0.6 9ZM5 3.6L5 6.2M5 7.2L5 8", "suspect"},
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
