package netlist

import (
	"strings"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// Names that moved to the packages mistake and say.
type Problem = mistake.Mistake

// Severities and helpers under their former names.
const (
	Error   = mistake.Error
	Warning = mistake.Warning
)

// Helpers under their former names.
var (
	Nearest      = mistake.Nearest
	HasErrors    = mistake.HasErrors
	SortProblems = mistake.Sort
	Hang         = say.Hang
	Count        = say.Count
)

// Head is WriteHead under its former name, in lines of the usual width.
func (b *Board) Head() string {
	var s strings.Builder
	o := say.NewWriter(&s)
	b.WriteHead(o)
	_ = o.Flush() // a strings.Builder takes all
	return s.String()
}
