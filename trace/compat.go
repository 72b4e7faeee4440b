package trace

import "example.org/walkback/netlist/say"

// EncodeJSON is say.JSON under its former name.
var EncodeJSON = say.JSON
