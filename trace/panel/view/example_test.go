package view_test

import (
	"fmt"
	"strings"

	"example.org/walkback/trace/panel/view"
)

func ExampleDescribe() {
	faults, err := view.ParseFaults("missing B.0=low")
	if err != nil {
		fmt.Println(err)
		return
	}
	look, err := view.Describe(view.Link{Channels: 2, Bits: 18}, faults)
	for clause := range strings.SplitSeq(look.Text(), ", ") {
		fmt.Println(clause)
	}
	fmt.Println(err)
	// Output:
	// in the bad columns white looks cyan (from a distance pale cyan)
	// red looks black (from a distance red)
	// yellow looks green (from a distance yellowish green)
	// magenta looks blue (from a distance violet)
	// and more; a ramp of grey is tinted; every second column (2,4,6...)
	// <nil>
}

func ExampleSuspect() {
	seen, err := view.ParseSeen("white=cyan columns=second")
	if err != nil {
		fmt.Println(err)
		return
	}
	groups, err := view.Suspect([]view.Link{{Channels: 2, Bits: 18}}, seen)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range groups {
		fmt.Println(g.Candidates, g.Look.Columns)
	}
	fmt.Println(view.Next(groups, seen).Show)
	// Output:
	// [missing A.0=low stuck A.0=low] odd
	// [missing B.0=low stuck B.0=low] even
	// [inverted A.0] odd
	// [inverted B.0] even
	// [swapped B.0/B.2] even
	// show full black: which colour is it?
}
