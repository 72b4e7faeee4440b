package bench

import (
	"strings"

	"example.org/walkback/netlist/mistake"
)

// lostMark begins a comment that was a line of a case and could not be understood.
const lostMark = "# lost: "

// Rescue returns the text of a case file in which every line with a mistake is a comment,
// and so is each undo that took such a line back; nothing is left out. It also returns the
// mistakes of those lines, as warnings.
func Rescue(text string, wrong []mistake.Mistake) (string, []mistake.Mistake) {
	var out strings.Builder
	var lost []bool // of each entry that counts so far
	var told []mistake.Mistake
	of := map[int]mistake.Mistake{}
	for _, m := range wrong {
		m.Severity = mistake.Warning
		of[m.Line] = m
	}
	number, begun := 0, false
	for raw := range strings.Lines(text) {
		number++
		line := strings.TrimSpace(raw)
		m, bad := of[number]
		whole := strings.HasSuffix(raw, "\n")
		switch verb, _, _ := strings.Cut(line, " "); {
		case whole && (line == "" || strings.HasPrefix(line, "#")):
		case !whole:
			bad = true
		case !begun: // without the board there is no case
			bad, begun = false, true
		case verb == "panel" || verb == "history":
		case verb != "undo":
			lost = append(lost, bad)
		case len(lost) > 0:
			// It may be in its place, though there was nothing to undo without what is lost.
			last := len(lost) - 1
			bad = lost[last]
			lost = lost[:last]
		}
		if bad {
			out.WriteString(lostMark)
		}
		if bad && m.Msg != "" {
			told = append(told, m)
		}
		out.WriteString(strings.TrimSuffix(raw, "\n") + "\n")
	}
	return out.String(), told
}
