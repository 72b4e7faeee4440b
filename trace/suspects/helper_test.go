package suspects

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

var demos = []string{"larkspur13", "siskin15", "teasel14"}

// narrowers holds what was simulated of the demo boards for all tests, which run
// one after the other.
var narrowers = map[string]*Narrower{}

func demo(t testing.TB, name string) *Narrower {
	t.Helper()
	if n := narrowers[name]; n != nil {
		return n
	}
	narrowers[name] = New(predict.New(boardtest.Demo(t, name)))
	return narrowers[name]
}

// read parses readings and names of symptoms with spaces between.
func read(t testing.TB, n *Narrower, line string) []netlist.Reading {
	t.Helper()
	var list []netlist.Reading
	for _, word := range strings.Fields(line) {
		found, err := n.m.Board.Readings(word, n.m.Board.Usual())
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, found...)
	}
	return list
}

func narrow(t testing.TB, n *Narrower, readings []netlist.Reading, history ...string) *Report {
	t.Helper()
	r, err := n.Narrow(readings, history)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// said writes what a meter of three digits shows at a probe.
func said(b *netlist.Board, p netlist.Probe, v float64) string {
	if !math.IsInf(v, 0) {
		v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	}
	return b.Say(p, v)
}
