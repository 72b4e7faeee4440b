package rom

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
)

// lineWidth is the longest line of Text, in characters.
const lineWidth = 100

// Text writes the findings for people.
func Text(w io.Writer, findings []Finding) error {
	b := bufio.NewWriter(w)
	if len(findings) == 0 {
		fmt.Fprintln(b, "The bytes look like a memory: no fault of a wire is seen in them.")
	}
	for i, f := range findings {
		if i > 0 {
			fmt.Fprintln(b)
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
		wrap(b, "", fmt.Sprintf("%s (%s)", head, sure))
		wrap(b, "  ", f.Says)
		section(b, "Bytes that differ, read by read:", listed(f.Differ))
		section(b, "It points to, the cheapest first:", f.Points)
		section(b, "Next:", f.Next)
		if len(f.Repaired) > 0 {
			wrap(b, "  ", fmt.Sprintf("Repaired: %s as they should have been.", netlist.Count(len(f.Repaired), "byte")))
		}
	}
	return b.Flush()
}

// maxListed is how many bytes that differ Text lists.
const maxListed = 8

// listed writes the bytes that differ with their values, one a line.
func listed(diffs []Difference) []string {
	var list []string
	for _, d := range diffs[:min(len(diffs), maxListed)] {
		list = append(list, fmt.Sprintf("byte %d (0x%02x): % X", d.At, d.At, []byte(d.Values)))
	}
	if more := len(diffs) - maxListed; more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return list
}

func section(w io.Writer, title string, items []string) {
	if len(items) == 0 {
		return
	}
	wrap(w, "  ", title)
	for _, it := range items {
		wrap(w, "  - ", it)
	}
}

// wrap breaks text at spaces; later lines are indented as far as the lead is.
func wrap(w io.Writer, lead, text string) {
	rest := strings.Repeat(" ", len(lead))
	if lead == "" {
		rest = "  "
	}
	fmt.Fprint(w, netlist.Hang(lead, rest, text, lineWidth))
}
