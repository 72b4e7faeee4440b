package bench

import (
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
)

// point names the place of a probe as a reading does.
func (s *Session) point(p netlist.Probe) string {
	name, _, _ := strings.Cut(suspects.Say(s.m, p, 0), "=")
	return name
}

// form writes a reading of a probe with a value as it was typed.
func (s *Session) form(p netlist.Probe, value string) string {
	said := suspects.Say(s.m, p, 0)
	state := ""
	if i := strings.Index(said, "@"); i >= 0 {
		state = said[i:]
	}
	return s.point(p) + "=" + value + state
}

var (
	yes = []string{"y", "yes", "ok", "seen", "read"}
	no  = []string{"n", "no", "unseen", "unread"}
)

// full makes a reading in full of an answer in short form.
func (s *Session) full(text string) (string, error) {
	text = strings.TrimSpace(text)
	if strings.Contains(text, "=") {
		if strings.ContainsAny(text, " \t") {
			return "", &WordError{Word: text, Msg: "a reading has no space in it", Want: "one reading, such as VBL=12.2V"}
		}
		return text, nil
	}
	p := s.now.step.Probe
	if s.now.step.Kind != Ask {
		return "", &WordError{Word: text, Msg: "no probe is asked for, so this answers nothing", Want: "a reading in full such as VBL=12.2V, or a command; ? lists them"}
	}
	wrong := &WordError{Word: text, Msg: "\"" + text + "\" is no answer here", Want: Expects(p) + "; or a command, ? lists them"}
	low := strings.ToLower(text)
	switch p.Method {
	case netlist.Look:
		switch {
		case slices.Contains(yes, low):
			return s.form(p, "yes"), nil
		case slices.Contains(no, low):
			return s.form(p, "no"), nil
		}
		return "", wrong
	case netlist.Activity:
		switch low {
		case "q", predict.Quiet:
			return s.form(p, predict.Quiet), nil
		case "t", predict.Toggling:
			return s.form(p, predict.Toggling), nil
		}
		if v, err := netlist.ParseValue(text, netlist.Volt); err == nil && v >= 0 {
			return s.form(p, "swing:"+text), nil
		}
		return "", wrong
	case netlist.Volts:
		if low == "f" || low == predict.Floating {
			return s.form(p, predict.Floating), nil
		}
		if _, err := netlist.ParseValue(text, netlist.Volt); err == nil {
			return s.form(p, text), nil
		}
		return "", wrong
	}
	unit, prefix := netlist.Ohm, "ohms:"
	if p.Method == netlist.Diode {
		unit, prefix = netlist.Volt, "diode:"
	}
	if v, err := netlist.ParseValue(text, unit); low == "ol" || err == nil && v >= 0 {
		return s.form(p, prefix+text), nil
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
