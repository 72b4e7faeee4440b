package rom

import (
	"fmt"
	"io"

	"example.org/walkback/netlist/say"
)

// Text writes the findings for people.
func Text(out io.Writer, findings []Finding) error {
	w := say.NewWriter(out)
	if len(findings) == 0 {
		fmt.Fprintln(w, "The bytes look like a memory: no fault of a wire is seen in them.")
	}
	for i, f := range findings {
		if i > 0 {
			fmt.Fprintln(w)
		}
		sure := "likely"
		switch {
		case f.Certain:
			sure = "certain"
		case f.Score < 0.6:
			sure = "possible"
		}
		head := f.Pattern
		if f.Where != "" {
			head += ", " + f.Where
		}
		w.Hang("", "  ", fmt.Sprintf("%s (%s)", head, sure))
		w.Hang("  ", "  ", f.Says)
		section(w, "Bytes that differ, read by read:", listed(f.Differ))
		section(w, "It points to, the cheapest first:", f.Points)
		section(w, "Next:", f.Next)
		if len(f.Repaired) > 0 {
			w.Hang("  ", "  ", fmt.Sprintf("Repaired: %s as they should have been.", say.Count(len(f.Repaired), "byte")))
		}
	}
	return w.Flush()
}

// listed writes the first bytes that differ with their values, one a line.
func listed(diffs []Difference) []string {
	const most = 8
	var list []string
	for _, d := range diffs[:min(len(diffs), most)] {
		list = append(list, fmt.Sprintf("byte %d (0x%02x): % X", d.At, d.At, []byte(d.Values)))
	}
	if more := len(diffs) - most; more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return list
}

func section(w *say.Writer, title string, items []string) {
	if len(items) == 0 {
		return
	}
	w.Hang("  ", "  ", title)
	for _, it := range items {
		w.Hang("  - ", "    ", it)
	}
}
