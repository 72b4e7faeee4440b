package power

import (
	"fmt"
	"strings"

	"example.org/walkback/netlist"
)

// windowPlace is the line of a window.
type windowPlace struct {
	line  *lineParser
	words []word // name, first event, ->, second event, times
}

func (at *windowPlace) fail(word int, code, msg, want string) netlist.Problem {
	at.line.fail(at.words[word], code, msg, want, "")
	return at.line.problems[len(at.line.problems)-1]
}

// checkProfile finds what is wrong with a profile as a whole: windows that lead
// backwards or in a circle, and windows that cannot be kept together.
func checkProfile(file string, p *Profile, places []windowPlace) []netlist.Problem {
	fail := func(code, msg, want string) []netlist.Problem {
		return []netlist.Problem{{File: file, Code: code, Msg: msg, Want: want}}
	}
	switch {
	case len(p.Windows) == 0:
		return fail("no-window", "there is no window in the file", lineForm)
	case len(p.Windows) > maxWindows:
		return fail("too-many", fmt.Sprintf("%d windows are more than the %d that one panel can have", len(p.Windows), maxWindows), "")
	}
	a := agreement{bounds: newBounds(), steps: edgeOrder()}
	for _, s := range a.steps {
		a.bounds.add(s.from, s.to, s.Span)
	}
	for i := range p.Windows {
		a.window(p, i, &places[i])
		if len(a.problems) >= maxReports {
			break
		}
	}
	return a.problems
}

// agreement is how far the windows of a profile go together, from the first to the
// last in the file.
type agreement struct {
	bounds   *bounds
	steps    []step
	problems []netlist.Problem
}

func (a *agreement) window(p *Profile, i int, at *windowPlace) {
	w := &p.Windows[i]
	report := func(x netlist.Problem) { a.problems = append(a.problems, x) }
	back := longest(w.To, a.steps)
	switch {
	case w.From.Signal() == w.To.Signal() && w.From > w.To:
		want := "the two events the other way round"
		if w.From.down() && w.To.Signal() == Supply {
			want += "; the next start is " + SupplyAgain.Name()
		}
		report(at.fail(1, "backwards", fmt.Sprintf("%s can never be kept: %s always comes before %s", w.Name, w.To, w.From), want))
		return
	case back.via[w.From] >= 0:
		var names []string
		for _, s := range append(back.path(w.From), step{name: w.Name}) {
			if s.name == "" {
				s.name = s.from.String() + " before " + s.to.String()
			}
			names = append(names, s.name)
		}
		report(at.fail(1, "circle", "these wait for each other: "+strings.Join(names, ", "), "windows that lead from the first event to the last"))
		return
	case !a.bounds.allows(w.From, w.To, w.Span):
		report(at.fail(4, "contradiction", fmt.Sprintf("%s can never be kept: it asks for %s, and the windows before it in the file leave %s between %s and %s",
			w.Name, w.Span, a.bounds.between(w.From, w.To).reach(), w.From, w.To), "times that can be kept together"))
		return
	}
	for j := range p.Windows[:i] {
		if o := &p.Windows[j]; o.From == w.From && o.To == w.To {
			both := Span{max(o.Min, w.Min), min(o.Max, w.Max)}
			warning := at.fail(0, "same-events", fmt.Sprintf("%s stands between the same two events as %s; %s keeps both", w.Name, o.Name, both), "one window for two events")
			warning.Severity = netlist.Warning
			report(warning)
			break
		}
	}
	a.bounds.add(w.From, w.To, w.Span)
	a.steps = append(a.steps, step{w.Name, w.From, w.To, w.Span})
}
