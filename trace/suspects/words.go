package suspects

import (
	"math"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// ValueText puts the value of a probe into words, as predict.Run.Value has it.
func ValueText(p netlist.Probe, v float64) string {
	switch how := p.Method; {
	case how == netlist.Look && v != 0:
		return "yes"
	case how == netlist.Look:
		return "no"
	case how == netlist.Volts && math.IsInf(v, 1):
		return predict.Floating
	case how == netlist.Activity && v < predict.Apart(netlist.Activity, 0):
		return predict.Quiet
	case how == netlist.Activity:
		return predict.Toggling + ", " + netlist.FormatValue(v, netlist.Volt)
	case math.IsInf(v, 1):
		return "OL"
	case how == netlist.Ohms || how == netlist.Across:
		return netlist.FormatValue(v, netlist.Ohm)
	}
	return predict.VoltText(v)
}

// Short joins the names of faults that stand at one place: U9:dead/no-switching.
func Short(names []string) string {
	var places []string
	modes := map[string][]string{}
	for _, n := range names {
		place, mode, _ := strings.Cut(n, ":")
		if modes[place] == nil {
			places = append(places, place)
		}
		modes[place] = append(modes[place], mode)
	}
	for i, p := range places {
		places[i] = p + ":" + strings.Join(modes[p], "/")
	}
	return strings.Join(places, ", ")
}
