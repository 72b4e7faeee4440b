package order

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/suspects"
)

// JSONVersion is the version of the schema below. It changes when a field changes
// its meaning or goes away.
const JSONVersion = 1

type (
	jsonPlan struct {
		Format   string     `json:"format"`
		Version  int        `json:"version"`
		Board    string     `json:"board"`
		Idle     []string   `json:"idle_lanes,omitempty"`
		Readings []string   `json:"readings"`
		Order    string     `json:"order"`
		Expected float64    `json:"expected_seconds"`
		Worst    float64    `json:"worst_seconds"`
		Lower    float64    `json:"lower_bound_seconds"`
		Optimal  bool       `json:"proven_best"`
		Walk     *float64   `json:"walking_order_expected_seconds,omitempty"`
		Half     float64    `json:"by_halves_expected_seconds"`
		Steps    []jsonStep `json:"steps"`
	}
	jsonStep struct {
		Number   int          `json:"number"`
		Target   string       `json:"target"`
		Method   string       `json:"method"`
		Place    string       `json:"place"`
		Meter    string       `json:"meter"`
		State    string       `json:"state"`
		Gate     bool         `json:"before_any_power"`
		Seconds  float64      `json:"seconds"`
		Change   float64      `json:"change_seconds"`
		Share    float64      `json:"share"`
		Caution  string       `json:"caution,omitempty"`
		Outcomes []jsonResult `json:"outcomes"`
	}
	jsonResult struct {
		Reading  string        `json:"reading"`
		Healthy  bool          `json:"healthy"`
		Share    float64       `json:"share"`
		Next     int           `json:"next"`
		Suspects []jsonSuspect `json:"suspects"`
	}
	jsonSuspect struct {
		Part   string   `json:"part"`
		Share  float64  `json:"share"`
		Faults []string `json:"faults"`
		Blown  []string `json:"blown"`
	}
)

// digits rounds to four decimals.
func digits(v float64) float64 { return math.Round(v*1e4) / 1e4 }

// WriteJSON prints the plan for programs.
func WriteJSON(out io.Writer, p *Plan) error {
	j := jsonPlan{Format: "walkback.order", Version: JSONVersion, Board: p.Board.Name, Idle: p.Board.IdleLanes(), Readings: []string{}, Order: p.Order,
		Expected: digits(p.Tree.Expected), Worst: digits(p.Tree.Worst), Lower: digits(p.Tree.Lower), Optimal: p.Tree.Optimal, Half: digits(p.Half.Expected), Steps: []jsonStep{}}
	for _, r := range p.Readings {
		j.Readings = append(j.Readings, r.Text)
	}
	if p.Walk != nil {
		w := digits(p.Walk.Expected)
		j.Walk = &w
	}
	for _, s := range p.Steps() {
		x := jsonStep{Number: s.Number, Target: p.Model.At(s.Probe), Method: s.Probe.Method.String(), Place: suspects.Place(p.Board, s.Probe), Meter: suspects.Meter(s.Probe),
			State: suspects.Condition(p.Board, s.Probe), Gate: s.Gate, Seconds: s.Cost, Change: s.Change, Share: digits(s.Share), Caution: suspects.Caution(p.Board, s.Probe)}
		for _, r := range s.Results {
			y := jsonResult{Reading: suspects.ValueText(s.Probe, r.Value), Healthy: r.Healthy, Share: digits(r.Share), Next: r.Next, Suspects: []jsonSuspect{}}
			for _, l := range r.Left {
				z := jsonSuspect{p.Board.Parts[l.Part].Name, digits(l.Share), l.Faults, []string{}}
				for _, b := range l.Blown {
					z.Blown = append(z.Blown, p.Board.Parts[b.Part].Name)
				}
				y.Suspects = append(y.Suspects, z)
			}
			x.Outcomes = append(x.Outcomes, y)
		}
		j.Steps = append(j.Steps, x)
	}
	return say.JSON(out, j)
}

// WriteMarkdown prints the plan with boxes to tick.
func WriteMarkdown(out io.Writer, p *Plan) error {
	o := bufio.NewWriter(out)
	escape := strings.NewReplacer("|", "\\|", "*", "\\*", "_", "\\_", "<", "&lt;")
	fmt.Fprintf(o, "# %s: %s\n\n", escape.Replace(p.Board.Name), escape.Replace(p.Board.Title))
	if text := p.Board.PanelText(); text != "" {
		fmt.Fprintf(o, "Panel: %s\n\n", escape.Replace(text))
	}
	for _, r := range p.Readings {
		fmt.Fprintf(o, "- read: %s\n", escape.Replace(r.Text))
	}
	fmt.Fprintf(o, "- order: %s, %s on average, %s at worst, no order below %s\n\n", p.Order, minutes(p.Tree.Expected), minutes(p.Tree.Worst), minutes(p.Tree.Lower))
	for _, c := range Cautions {
		fmt.Fprintf(o, "> **Caution:** %s\n", c)
	}
	var last netlist.Probe
	for i, s := range p.Steps() {
		if c := suspects.Condition(p.Board, s.Probe); i == 0 || c != suspects.Condition(p.Board, last) {
			fmt.Fprintf(o, "\n## %s\n\n", escape.Replace(c))
		}
		last = s.Probe
		fmt.Fprintf(o, "- [ ] **%d. %s** %s; %s\n", s.Number, escape.Replace(p.Model.At(s.Probe)), escape.Replace(suspects.Place(p.Board, s.Probe)), escape.Replace(suspects.Meter(s.Probe)))
		if c := suspects.Caution(p.Board, s.Probe); c != "" {
			fmt.Fprintf(o, "  - caution: %s\n", escape.Replace(c))
		}
		for _, r := range s.Results {
			then := fmt.Sprintf("step %d", r.Next)
			if r.Next == 0 {
				then = p.verdict(r.Left)
			}
			fmt.Fprintf(o, "  - %s: %s\n", escape.Replace(suspects.ValueText(s.Probe, r.Value)), escape.Replace(then))
		}
	}
	return o.Flush()
}
