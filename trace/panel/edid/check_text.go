package edid

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
)

// checkWidth is the widest line of CheckText in columns.
const checkWidth = 100

// sumMostSuspects is how many bytes CheckText lists under a wrong sum. Those for
// which no rule speaks are only counted: four of sixty would look like an answer.
const sumMostSuspects = 4

// CheckText writes the verdict over the checksum of each block, all violations, and
// at the end whether the read is sound. With guess it names the bytes that may be
// off under a wrong sum. That takes one wrong byte for granted: without guess is
// right where bytes were not read, or where they show another fault.
func CheckText(w io.Writer, data []byte, guess bool) error {
	bw := bufio.NewWriter(w)
	found := Check(data)
	if len(found) != 1 || found[0].Rule != "no-edid" {
		for _, s := range Sums(data) {
			sumText(bw, s)
			if block := data[s.Block*BlockSize:][:BlockSize]; guess && !s.OK && checkUniform(block) < 0 {
				suspectsText(bw, Suspects(block))
			}
		}
	}
	fails := 0
	for _, v := range found {
		if v.Severity == Fails {
			fails++
		}
		checkWrap(bw, fmt.Sprintf("byte %02X, %s: ", v.Byte, v.Severity), "  ", fmt.Sprintf("%s (%s, %s)", v.Text, v.Standard, v.Clause))
	}
	switch {
	case len(found) == 0:
		fmt.Fprintln(bw, "No violation was found.")
	default:
		fmt.Fprintf(bw, "%s, %s.\n", netlist.Count(fails, "failure"), netlist.Count(len(found)-fails, "warning"))
	}
	checkWrap(bw, "", "", soundText(data, len(found) > 0))
	return bw.Flush()
}

// sumText writes the verdict over one sum.
func sumText(w io.Writer, s BlockSum) {
	if s.OK {
		fmt.Fprintf(w, "block %d: checksum %02X, right\n", s.Block, s.Have)
		return
	}
	fmt.Fprintf(w, "block %d: checksum reads %02X, the bytes want %02X\n", s.Block, s.Have, s.Want)
}

// suspectsText writes which bytes may be the wrong one.
func suspectsText(w io.Writer, suspects []ByteSuspect) {
	for i, c := range suspects {
		if i == sumMostSuspects || c.Evidence != Mends && c.Evidence != Known {
			break
		}
		checkWrap(w, "  ", "  ", c.Text)
	}
	checkWrap(w, "  ", "", Certainty(suspects))
}

// checkWrap writes text behind a label, broken at spaces; further lines are indented
// like the label and by more.
func checkWrap(w io.Writer, label, more, text string) {
	indent := strings.Repeat(" ", len(label)-len(strings.TrimLeft(label, " "))) + more
	fmt.Fprint(w, netlist.Hang(label, indent, text, checkWidth))
}
