package trace

import (
	"bufio"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// Names that moved to the packages say and netlist, under their former names.
var (
	EncodeJSON = say.JSON
	StateJSON  = (*netlist.Board).SettingMap
	PointText  = (*netlist.Board).PointText
	PointJSON  = (*netlist.Board).TestPoint
	ExpectText = netlist.Expect.String
)

// JSONPoint is netlist.TestPoint under its former name.
type JSONPoint = netlist.TestPoint

// Wrap is say.Writer.Wrap under its former name, in lines of the usual width.
func Wrap(o *bufio.Writer, text, indent string) {
	// A bufio.Writer keeps its first error for Flush.
	_, _ = o.WriteString(say.Hang(indent, indent+" ", text, say.Width))
}
