package netlist

import (
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
