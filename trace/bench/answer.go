package bench

import (
	"errors"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// shortWords are the answers of one letter, and other words for the same, by the
// method of the probe that they answer.
var shortWords = map[netlist.Method]map[string]string{
	netlist.Look: {"y": "yes", "yes": "yes", "ok": "yes", "seen": "yes", "read": "yes", "n": "no", "no": "no", "unseen": "no",
		"unread": "no"},
	netlist.Activity: {"q": "quiet", "quiet": "quiet", "t": "toggling", "toggling": "toggling"},
	netlist.Volts:    {"f": "floating", "floating": "floating"},
}

// prefixes say by which method a number was read.
var prefixes = map[netlist.Method]string{netlist.Volts: "volts:", netlist.Activity: "swing:", netlist.Ohms: "ohms:",
	netlist.Across: "ohms:", netlist.Diode: "diode:"}

// full makes a reading in full of an answer in short form.
func (s *Session) full(text string) (string, error) {
	text = strings.TrimSpace(text)
	if strings.Contains(text, "=") {
		return text, nil
	}
	if s.now.step.Kind != Ask {
		return "", mistake.Mistake{Code: "word", Text: text, Msg: "no probe is asked for, so this answers nothing",
			Want: "a reading in full such as VBL=12.2V, or a command; ? lists them"}
	}
	p := s.now.step.Probe
	if word, ok := shortWords[p.Method][strings.ToLower(text)]; ok {
		return s.b.SayTyped(p, word), nil
	}
	wrong := mistake.Mistake{Code: "word", Text: text, Msg: "\"" + text + "\" is no answer here",
		Want: Expects(p) + "; or a command, ? lists them"}
	if p.Method == netlist.Look || text == "" {
		return "", wrong
	}
	r, err := s.b.ParseReading(s.b.SayTyped(p, prefixes[p.Method]+text), s.b.Usual())
	if err == nil {
		return s.b.SayReading(r), nil
	}
	var m mistake.Mistake
	if errors.As(err, &m) && strings.ContainsAny(text, "0123456789") {
		wrong.Msg, wrong.Near = m.Msg, m.Near
	}
	return "", wrong
}

// Expects says which answers a probe takes.
func Expects(p netlist.Probe) string {
	switch p.Method {
	case netlist.Look:
		return "y or n"
	case netlist.Activity:
		return "q (quiet), t (it toggles), or by how many volts it moves, as 0.35"
	case netlist.Volts:
		return "volts, as 12.2; f when it floats"
	case netlist.Diode:
		return "volts, as 0.45; OL when open"
	case netlist.Ohms, netlist.Across:
	}
	return "ohms, as 40k or 0.1; OL when open"
}
