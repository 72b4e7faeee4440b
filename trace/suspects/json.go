package suspects

import (
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
)

// JSONVersion is the version of the schema that WriteJSON writes.
const JSONVersion = 1

type (
	jsonReport struct {
		Format   string        `json:"format"`
		Version  int           `json:"version"`
		Board    string        `json:"board"`
		Idle     []string      `json:"idle_lanes,omitempty"`
		Title    string        `json:"title"`
		History  []string      `json:"history"`
		Readings []jsonReading `json:"readings"`
		Leads    string        `json:"leads"` // one fault, two faults, not listed, nothing wrong
		Single   bool          `json:"one_fault_explains_every_reading"`
		Actions  []jsonAction  `json:"actions"`
		Suspects []jsonSuspect `json:"suspects"`
		Pairs    []jsonPair    `json:"pairs"`
		Two      float64       `json:"two_faults"`
		Other    float64       `json:"not_listed"`
		Rest     float64       `json:"rest"`
		Clash    [][]string    `json:"cannot_all_be_true"`
		Unsaid   []string      `json:"not_explained"`
		Fuse     *jsonFuse     `json:"fuse,omitempty"`
		Dangers  []jsonDanger  `json:"keeps_power_off"`
		Runaway  string        `json:"may_run_away,omitempty"`
		Next     []jsonNext    `json:"next"`
		Proofs   []jsonProof   `json:"proofs"`
		Cleared  []jsonCleared `json:"cleared"`
	}
	jsonReading struct {
		Text    string `json:"text"`
		Healthy bool   `json:"as_on_a_healthy_board"`
		Valid   bool   `json:"valid_in_state"`
		Should  string `json:"healthy_board_shows"`
	}
	jsonAction struct {
		Do      string   `json:"do"`
		P       float64  `json:"p"`
		Minutes float64  `json:"minutes"`
		Risk    string   `json:"risk"`
		Parts   []string `json:"parts"`
		Turn    int      `json:"turn"`
	}
	jsonSuspect struct {
		Faults  []string  `json:"faults"`
		P       float64   `json:"p"`
		For     []string  `json:"for"`
		Against []string  `json:"against"`
		Blown   []string  `json:"blown"`
		Size    *jsonSize `json:"size,omitempty"`
		Settle  string    `json:"settle,omitempty"`
	}
	jsonSize struct {
		Low  float64 `json:"low"`
		High float64 `json:"high"`
		Unit string  `json:"unit"`
	}
	jsonPair struct {
		First  []string `json:"first"`
		Second []string `json:"second"`
		P      float64  `json:"p"`
		Blown  []string `json:"blown"`
	}
	jsonFuse struct {
		Part     string   `json:"part"`
		Unsought []string `json:"not_ruled_out"`
	}
	jsonDanger struct {
		Reading string   `json:"reading"`
		Says    string   `json:"says"`
		Faults  []string `json:"faults"`
		Action  string   `json:"action"`
		Give    string   `json:"give,omitempty"`
	}
	jsonNext struct {
		At       string        `json:"at"`
		Method   string        `json:"method"`
		First    []string      `json:"before_any_power,omitempty"`
		Place    string        `json:"place,omitempty"`
		Meter    string        `json:"meter"`
		State    string        `json:"state"`
		Caution  string        `json:"caution,omitempty"`
		Again    bool          `json:"again"`
		Bits     float64       `json:"bits"`
		Seconds  float64       `json:"seconds"`
		Give     string        `json:"give"`
		Outcomes []jsonOutcome `json:"outcomes"`
	}
	jsonOutcome struct {
		Shows   string     `json:"shows"`
		Healthy bool       `json:"as_on_a_healthy_board"`
		P       float64    `json:"p"`
		Leaves  [][]string `json:"leaves"`
		More    int        `json:"more"`
	}
	jsonProof struct {
		Part  string `json:"part"`
		Proof string `json:"proof"`
	}
	jsonCleared struct {
		Part string `json:"part"`
		By   string `json:"by"`
	}
)

var leadNames = [...]string{OneLeads: "one fault", TwoLead: "two faults", OtherLeads: "not listed", NoneLeads: "nothing wrong"}

// WriteJSON prints a report for programs.
func WriteJSON(out io.Writer, r *Report) error {
	j := jsonReport{
		Format: "walkback.narrow", Version: JSONVersion, Board: r.Board.Name, Idle: r.Board.IdleLanes(), Title: r.Board.Title,
		History: append([]string{}, r.History...),
		Leads:   leadNames[r.Leads()], Single: r.Single, Two: r.Two, Other: r.Other, Rest: r.Rest, Unsaid: r.list(r.Unsaid),
		Readings: []jsonReading{}, Actions: []jsonAction{},
		Suspects: []jsonSuspect{}, Pairs: []jsonPair{}, Clash: [][]string{}, Dangers: []jsonDanger{},
		Next: []jsonNext{}, Proofs: []jsonProof{}, Cleared: []jsonCleared{},
	}
	if r.Runaway != netlist.None {
		j.Runaway = r.Bench.Runaway(r.Runaway)
	}
	for k, x := range r.Readings {
		j.Readings = append(j.Readings, jsonReading{x.Text, r.Healthy[k], !r.Absent[k], r.Should[k]})
	}
	worth := r.Worth()
	turns := repair.Order(worth)
	for i := range worth {
		a := &worth[i]
		x := jsonAction{Do: a.Name, P: a.P, Minutes: a.Minutes, Risk: r.repairs.Risk(a),
			Turn: 1 + slices.IndexFunc(turns, func(b repair.Action) bool { return b.Name == a.Name })}
		for _, id := range a.Parts {
			x.Parts = append(x.Parts, r.Board.Parts[id].Name)
		}
		j.Actions = append(j.Actions, x)
	}
	for _, s := range r.Suspects {
		x := jsonSuspect{s.Names, s.P, r.list(s.For), r.list(s.Against), r.blown(s.Blown), nil, s.Settle}
		if s.Size != nil {
			x.Size = &jsonSize{s.Size.Low, s.Size.High, "factor"}
			if s.Size.Ohms {
				x.Size.Unit = "ohm"
			}
		}
		j.Suspects = append(j.Suspects, x)
	}
	for _, p := range r.Pairs {
		j.Pairs = append(j.Pairs, jsonPair{p.Names[0], p.Names[1], p.P, r.blown(p.Blown)})
	}
	for _, set := range r.Clash {
		j.Clash = append(j.Clash, r.list(set))
	}
	if r.Fuse != nil {
		j.Fuse = &jsonFuse{r.Board.Parts[r.Fuse.Part].Name, append([]string{}, r.Fuse.Unsought...)}
	}
	for i := range r.Dangers {
		d := &r.Dangers[i]
		x := jsonDanger{Reading: r.Readings[d.Index].Text, Says: r.Bench.DangerText(&d.Danger), Faults: append([]string{}, d.Names...),
			Action: d.Action}
		if d.Rail != netlist.None {
			x.Give = r.Board.SayForm(d.Bridge())
		}
		j.Dangers = append(j.Dangers, x)
	}
	for _, x := range r.Next {
		place, _ := r.Bench.Place(x.Probe)
		n := jsonNext{
			At: probe.At(r.Board, x.Probe), Method: x.Probe.Method.String(), Place: place.String(), Meter: r.Bench.MeterText(x.Probe),
			State: probe.Condition(r.Board, x.Probe), First: probe.Names(r.Board, r.First(x.Probe)),
			Caution: strings.Join(r.Bench.Cautions(x.Probe), "; "), Again: x.Again, Bits: x.Bits, Seconds: x.Seconds, Give: r.Board.SayForm(x.Probe),
			Outcomes: []jsonOutcome{},
		}
		for _, o := range x.Outcomes {
			n.Outcomes = append(n.Outcomes, jsonOutcome{ValueText(x.Probe, o.Value), o.Healthy, o.P, o.Leaves, o.More})
		}
		j.Next = append(j.Next, n)
	}
	for _, id := range r.Proofs {
		j.Proofs = append(j.Proofs, jsonProof{r.Board.Parts[id].Name, r.Board.Parts[id].Kind.Proof})
	}
	for _, c := range r.Cleared {
		j.Cleared = append(j.Cleared, jsonCleared{r.Board.Parts[c.Part].Name, r.Readings[c.By].Text})
	}
	return say.JSON(out, j)
}

func (r *Report) list(set []int) []string {
	words := make([]string, len(set))
	for i, k := range set {
		words[i] = r.Readings[k].Text
	}
	return words
}

func (r *Report) blown(list []predict.Blown) []string {
	names := make([]string, len(list))
	for i, b := range list {
		names[i] = r.Board.Parts[b.Part].Name
	}
	return names
}
