package plan

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
)

// phase names the two halves of a checklist.
func phase(p *Probe) string {
	if p.Method.Cold() {
		return "Cold: " + p.State
	}
	return "Powered: " + p.State
}

func (p Place) String() string {
	text := p.Name
	if p.Side != "" {
		text += ", " + p.Side
	}
	if p.At != "" {
		text += ", " + p.At
	}
	return text
}

// skippedLead begins the list of points that need no probe.
const skippedLead = "Not asked, since an observation shows it right: "

// againstNote limits what the steps say of such a symptom.
const againstNote = " The steps below check them cold; what brings the point is not asked."

func (o Outcome) target() string {
	if o.Next == 0 {
		return "stop"
	}
	return fmt.Sprintf("step %d", o.Next)
}

// WriteText prints a checklist for paper or a terminal.
func WriteText(out io.Writer, c *Checklist) error {
	o := bufio.NewWriter(out)
	w := c.Walk
	fmt.Fprintf(o, "%sstate     %s\nsymptom   %s\n", w.Board.Head(), w.Board.SettingText(w.Setting), w.Observed(w.Symptoms))
	if len(w.Given) > 0 {
		fmt.Fprintf(o, "given     %s\n", w.Observed(w.Given))
	}
	fmt.Fprintf(o, "order     %s, cold checks first\n\n", c.Order)
	if text := w.NotValid(); text != "" {
		fmt.Fprintf(o, "%s\n\n", text)
	}
	for _, text := range w.AgainstText() {
		trace.Wrap(o, text+againstNote, "")
		fmt.Fprintln(o)
	}
	for _, k := range c.Cautions {
		fmt.Fprintf(o, "  ! %s\n", k)
	}
	last := ""
	for i := range c.Probes {
		p := &c.Probes[i]
		if ph := phase(p); ph != last {
			fmt.Fprintf(o, "\n%s\n", ph)
			last = ph
		}
		fmt.Fprintf(o, "\n[ ] %2d  %-14s %s\n", p.Number, p.Target, p.Role)
		fmt.Fprintf(o, "        at      %s\n", p.Place)
		fmt.Fprintf(o, "        meter   %s\n", p.Meter)
		fmt.Fprintf(o, "        expect  %-36s read ____________\n", p.Expect)
		for _, r := range p.Outcomes {
			trace.Wrap(o, fmt.Sprintf("%s -> %s: %s", r.Reading, r.target(), r.Means), "        ")
		}
		for _, k := range p.Cautions {
			trace.Wrap(o, "! "+k, "        ")
		}
	}
	if len(c.Skipped) > 0 {
		fmt.Fprintln(o)
		trace.Wrap(o, skippedLead+strings.Join(c.Skipped, ", "), "")
	}
	return o.Flush()
}

// escape keeps text from being taken for Markdown.
var escape = strings.NewReplacer("|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`")

// WriteMarkdown prints a checklist as Markdown with boxes to tick.
func WriteMarkdown(out io.Writer, c *Checklist) error {
	o := bufio.NewWriter(out)
	w := c.Walk
	fmt.Fprintf(o, "# %s: %s\n\n", escape.Replace(w.Board.Title), escape.Replace(w.Observed(w.Symptoms)))
	if text := w.Board.PanelText(); text != "" {
		fmt.Fprintf(o, "Panel: %s\n\n", escape.Replace(text))
	}
	if len(w.Given) > 0 {
		fmt.Fprintf(o, "Given: %s\n\n", escape.Replace(w.Observed(w.Given)))
	}
	if text := w.NotValid(); text != "" {
		fmt.Fprintf(o, "**%s**\n\n", escape.Replace(text))
	}
	for _, text := range w.AgainstText() {
		fmt.Fprintf(o, "**%s**\n\n", escape.Replace(text+againstNote))
	}
	for _, k := range c.Cautions {
		fmt.Fprintf(o, "> **Caution.** %s\n>\n", escape.Replace(k))
	}
	last := ""
	for i := range c.Probes {
		p := &c.Probes[i]
		if ph := phase(p); ph != last {
			fmt.Fprintf(o, "\n## %s\n\n", escape.Replace(ph))
			last = ph
		}
		fmt.Fprintf(o, "- [ ] **%d. %s** (%s)\n", p.Number, escape.Replace(p.Target), escape.Replace(p.Role))
		fmt.Fprintf(o, "  - at %s; %s\n", escape.Replace(p.Place.String()), escape.Replace(p.Meter))
		fmt.Fprintf(o, "  - expect **%s**, read \\_\\_\\_\\_\\_\\_\n", escape.Replace(p.Expect))
		for _, r := range p.Outcomes {
			fmt.Fprintf(o, "  - %s → %s: %s\n", r.Reading, r.target(), escape.Replace(r.Means))
		}
		for _, k := range p.Cautions {
			fmt.Fprintf(o, "  - **Caution.** %s\n", escape.Replace(k))
		}
	}
	if len(c.Skipped) > 0 {
		fmt.Fprintf(o, "\n%s%s\n", skippedLead, escape.Replace(strings.Join(c.Skipped, ", ")))
	}
	return o.Flush()
}

// JSONVersion is the version of the schema that WriteJSON writes.
const JSONVersion = 1

type (
	jsonList struct {
		Format   string            `json:"format"`
		Version  int               `json:"version"`
		Board    string            `json:"board"`
		Idle     []string          `json:"idle_lanes,omitempty"`
		State    map[string]string `json:"state"`
		Symptoms string            `json:"symptoms"`
		Given    string            `json:"given,omitempty"`
		Order    string            `json:"order"`
		Cautions []string          `json:"cautions"`
		Probes   []jsonProbe       `json:"probes"`
		Skipped  []string          `json:"proven_right"`
	}
	jsonProbe struct {
		Number   int           `json:"number"`
		Cold     bool          `json:"cold"`
		Method   Method        `json:"method"`
		Target   string        `json:"target"`
		Role     string        `json:"role"`
		Place    string        `json:"place"`
		Side     string        `json:"side,omitempty"`
		At       string        `json:"at,omitempty"`
		Meter    string        `json:"meter"`
		State    string        `json:"state"`
		Expect   string        `json:"expect"`
		Low      *float64      `json:"low,omitempty"`
		High     *float64      `json:"high,omitempty"`
		Outcomes []jsonOutcome `json:"outcomes"`
		Cautions []string      `json:"cautions"`
	}
	jsonOutcome struct {
		Reading string `json:"reading"`
		Means   string `json:"means"`
		Next    int    `json:"next"`
	}
)

// WriteJSON prints a checklist for programs. Next is 0 where the search ends;
// low and high are volts, or ohms for a cold check.
func WriteJSON(out io.Writer, c *Checklist) error {
	w := c.Walk
	j := jsonList{
		Format: "walkback.probe", Version: JSONVersion, Board: w.Board.Name, Idle: w.Board.IdleLanes(), State: w.Board.SettingMap(w.Setting),
		Symptoms: w.Observed(w.Symptoms), Given: w.Observed(w.Given), Order: c.Order, Cautions: c.Cautions, Probes: make([]jsonProbe, 0, len(c.Probes)), Skipped: append([]string{}, c.Skipped...),
	}
	for i := range c.Probes {
		p := &c.Probes[i]
		x := jsonProbe{
			Number: p.Number, Cold: p.Method.Cold(), Method: p.Method, Target: p.Target, Role: p.Role, Place: p.Place.Name, Side: p.Place.Side, At: p.Place.At,
			Meter: p.Meter, State: p.State, Expect: p.Expect, Cautions: append([]string{}, p.Cautions...), Outcomes: make([]jsonOutcome, 0, len(p.Outcomes)),
		}
		if p.Low != 0 || p.High != 0 {
			x.Low = &p.Low
		}
		if p.High != 0 {
			x.High = &p.High
		}
		for _, r := range p.Outcomes {
			x.Outcomes = append(x.Outcomes, jsonOutcome(r))
		}
		j.Probes = append(j.Probes, x)
	}
	return say.JSON(out, j)
}
