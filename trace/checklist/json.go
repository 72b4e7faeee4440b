package checklist

import (
	"io"

	"example.org/walkback/netlist/say"
)

// JSONVersion is the version of the schema below. It changes when a field changes its
// meaning or goes away.
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
		History  []string          `json:"history,omitempty"`
		Notes    []string          `json:"notes"`
		Order    string            `json:"order"`
		Costs    *jsonCosts        `json:"costs,omitempty"`
		Cautions []string          `json:"cautions"`
		Steps    []jsonStep        `json:"steps"`
		Last     string            `json:"last,omitempty"`
		Skipped  []string          `json:"proven_right"`
	}
	jsonCosts struct {
		Expected float64  `json:"expected_seconds"`
		Worst    float64  `json:"worst_seconds"`
		Lower    float64  `json:"lower_bound_seconds"`
		Optimal  bool     `json:"proven_best"`
		Walk     *float64 `json:"walking_order_expected_seconds,omitempty"`
		Half     *float64 `json:"by_halves_expected_seconds,omitempty"`
	}
	jsonStep struct {
		Number    int           `json:"number"`
		Points    []int         `json:"points"`
		Target    string        `json:"target"`
		Method    string        `json:"method"`
		Cold      bool          `json:"cold"`
		Gate      bool          `json:"before_any_power"`
		Why       string        `json:"why"`
		Place     string        `json:"place"`
		Side      string        `json:"side,omitempty"`
		At        string        `json:"at,omitempty"`
		Meter     string        `json:"meter"`
		Leads     string        `json:"leads"`
		Condition string        `json:"condition"`
		Expect    string        `json:"expect"`
		Low       *float64      `json:"low,omitempty"`
		High      *float64      `json:"high,omitempty"`
		Tell      string        `json:"tell,omitempty"`
		Seconds   float64       `json:"seconds"`
		Change    float64       `json:"change_seconds"`
		Share     *float64      `json:"share,omitempty"`
		Outcomes  []jsonOutcome `json:"outcomes"`
		Cautions  []string      `json:"cautions"`
	}
	jsonOutcome struct {
		Reading  string        `json:"reading"`
		Healthy  bool          `json:"healthy"`
		Share    *float64      `json:"share,omitempty"`
		Means    string        `json:"means"`
		Next     int           `json:"next"`
		Actions  []jsonAct     `json:"actions"`
		Suspects []jsonSuspect `json:"suspects"`
	}
	jsonAct struct {
		Do      string  `json:"do"`
		Share   float64 `json:"share"`
		Minutes float64 `json:"minutes"`
	}
	jsonSuspect struct {
		Part   string   `json:"part"`
		Share  float64  `json:"share"`
		Faults []string `json:"faults"`
		Blown  []string `json:"blown"`
	}
)

// digits rounds to four decimals.
func digits(v float64) float64 { return say.Round(v, 4) }

// known returns nothing for a number that is not known.
func known(v float64) *float64 {
	if v == 0 {
		return nil
	}
	v = digits(v)
	return &v
}

// WriteJSON writes a checklist for programs.
func (l *List) WriteJSON(out io.Writer) error {
	w := l.Walk
	j := jsonList{
		Format: "walkback.checklist", Version: JSONVersion, Board: w.Board.Name,
		Idle: w.Board.IdleLanes(), State: w.Board.SettingMap(w.Setting),
		Symptoms: w.Observed(w.Symptoms), Given: w.Observed(w.Given), History: l.Bench.History(),
		Notes: append([]string{}, l.notes()...), Order: l.Order,
		Cautions: l.Cautions, Steps: make([]jsonStep, 0, len(l.Steps)), Last: l.Last, Skipped: append([]string{}, l.Skipped...),
	}
	if c := l.Costs; c != nil {
		j.Costs = &jsonCosts{Expected: digits(c.Expected), Worst: digits(c.Worst), Lower: digits(c.Lower), Optimal: c.Optimal}
		if c.Walk != nil {
			j.Costs.Walk = known(c.Walk.Expected)
		}
		if c.Half != nil {
			j.Costs.Half = known(c.Half.Expected)
		}
	}
	for i := range l.Steps {
		j.Steps = append(j.Steps, l.Steps[i].json())
	}
	return say.JSON(out, j)
}

func (s *Step) json() jsonStep {
	x := jsonStep{
		Number: s.Number, Points: append([]int{}, s.Points...), Target: s.Target, Method: s.Probe.Method.String(), Cold: s.Probe.Cold(),
		Gate: s.Gate, Why: s.Why,
		Place: s.Place.Name, Side: s.Place.Side, At: s.Place.At, Meter: s.Meter, Leads: s.Leads, Condition: s.Condition, Expect: s.Expect,
		Tell:    s.Tell,
		Seconds: s.Seconds, Change: s.Change, Share: known(s.Share),
		Cautions: append([]string{}, s.Cautions...), Outcomes: make([]jsonOutcome, 0, len(s.Outcomes)),
	}
	if s.Low != 0 || s.High != 0 {
		x.Low = &s.Low
	}
	if s.High != 0 {
		x.High = &s.High
	}
	for _, o := range s.Outcomes {
		y := jsonOutcome{Reading: o.Reading, Healthy: o.Healthy, Share: known(o.Share), Means: o.Means, Next: o.Next, Actions: []jsonAct{},
			Suspects: []jsonSuspect{}}
		for _, a := range o.Do {
			y.Actions = append(y.Actions, jsonAct{a.Name, digits(a.Share), a.Minutes})
		}
		for _, z := range o.Left {
			y.Suspects = append(y.Suspects, jsonSuspect{z.Part, digits(z.Share), z.Faults, append([]string{}, z.Blown...)})
		}
		x.Outcomes = append(x.Outcomes, y)
	}
	return x
}
