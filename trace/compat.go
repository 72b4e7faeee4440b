package trace

import (
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
