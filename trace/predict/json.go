package predict

import (
	"io"
	"math"
	"strconv"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// JSONVersion is the version of the schemas below. It changes when a field
// changes its meaning or goes away.
const JSONVersion = 1

// The types below are the schemas. Values are in V and Ω; what no meter shows as
// a number is null, with the word OL or floating beside it.
type (
	jsonReports struct {
		Format  string       `json:"format"`
		Version int          `json:"version"`
		Board   string       `json:"board"`
		Idle    []string     `json:"idle_lanes,omitempty"`
		Title   string       `json:"title"`
		Reports []jsonReport `json:"reports"`
	}
	jsonReport struct {
		State    map[string]string `json:"state"`
		Panel    string            `json:"panel"`
		Faults   []string          `json:"faults"`
		Blown    []jsonBlown       `json:"blown"`
		Unsteady []string          `json:"unsteady"`
		Lifted   []string          `json:"lifted"`
		Nets     []jsonNet         `json:"nets"`
		Parts    []jsonPart        `json:"parts"`
		Lanes    []jsonFact        `json:"lanes"`
		Facts    []jsonFact        `json:"facts"`
		Sources  []jsonRegime      `json:"sources"`
	}
	jsonNet struct {
		Net       string              `json:"net"`
		Reachable bool                `json:"reachable"`
		Points    []netlist.TestPoint `json:"points"`
		Volts     jsonReading         `json:"volts"`
		Activity  jsonReading         `json:"activity"`
		Ohms      jsonReading         `json:"ohms_to_ground"`
		Diode     jsonReading         `json:"diode_mode"`
	}
	jsonPart struct {
		Part   string      `json:"part"`
		Unit   string      `json:"unit"`
		Across jsonReading `json:"ohms_across"`
	}
	jsonReading struct {
		Value *float64 `json:"value"`
		Low   *float64 `json:"low"`
		High  *float64 `json:"high"`
		Word  string   `json:"word,omitempty"`
		Shows string   `json:"shows"`
	}
	jsonFact struct {
		Name  string `json:"name"`
		Shows string `json:"shows"`
	}
	jsonRegime struct {
		Part  string `json:"part"`
		Works string `json:"works"`
	}
	jsonBlown struct {
		Part   string   `json:"part"`
		Amps   *float64 `json:"amperes"`
		Rating *float64 `json:"rating_amperes"`
	}
)

// number is v with six digits, or nil when there is no such number.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	x, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return nil
	}
	if x == 0 {
		x = 0 // no minus
	}
	return &x
}

func readingJSON(r Reading) jsonReading {
	j := jsonReading{Word: r.word(), Shows: r.String()}
	if r.Number() {
		j.Value, j.Low, j.High = number(r.Value), number(r.Low), number(r.High)
	}
	return j
}

// word is the word of a reading, also of one that the meter has no number for.
func (r Reading) word() string {
	if r.Word == "" && math.IsInf(r.Value, 0) {
		return "OL"
	}
	return r.Word
}

// WriteJSON prints reports of one board for programs.
func WriteJSON(out io.Writer, list []*Report, pick *Pick) error {
	b := list[0].Board
	j := jsonReports{"walkback.predict", JSONVersion, b.Name, b.IdleLanes(), b.Title, make([]jsonReport, len(list))}
	for i, r := range list {
		j.Reports[i] = r.json(pick)
	}
	return say.JSON(out, j)
}

func plugWord(unplugged bool) string {
	if unplugged {
		return "unplugged"
	}
	return "plugged"
}

func (r *Report) json(pick *Pick) jsonReport {
	b := r.Board
	j := jsonReport{
		State: b.SettingMap(r.State.Setting), Panel: plugWord(r.State.Unplugged), Faults: append([]string{}, r.Names...),
		Blown: blownJSON(b, r.Blown), Unsteady: partNames(b, r.Unsteady), Lifted: partNames(b, r.Lifted),
		Nets: []jsonNet{}, Parts: []jsonPart{}, Lanes: []jsonFact{}, Facts: []jsonFact{}, Sources: []jsonRegime{},
	}
	for i := range r.Nets {
		x := &r.Nets[i]
		if pick != nil && !pick.net(b, x.Net) {
			continue
		}
		n := jsonNet{b.Nets[x.Net].Name, Reachable(b, x.Net), []netlist.TestPoint{}, readingJSON(x.Volts), readingJSON(x.Activity),
			readingJSON(x.Ohms), readingJSON(x.Diode)}
		for id := range b.Points(x.Net) {
			n.Points = append(n.Points, b.TestPoint(id))
		}
		j.Nets = append(j.Nets, n)
	}
	for _, x := range r.Parts {
		if pick == nil || pick.part(b, x.Part) {
			j.Parts = append(j.Parts, jsonPart{b.Parts[x.Part].Name, x.Name, readingJSON(x.Across)})
		}
	}
	for _, x := range r.Facts {
		if x.Lane {
			j.Lanes = append(j.Lanes, jsonFact{x.Name, x.Shows.Word})
		} else {
			j.Facts = append(j.Facts, jsonFact{x.Name, x.Shows.Word})
		}
	}
	for _, x := range r.Regimes {
		j.Sources = append(j.Sources, jsonRegime{b.Parts[x.Part].Name, x.Text})
	}
	return j
}

func blownJSON(b *netlist.Board, list []Blown) []jsonBlown {
	out := make([]jsonBlown, len(list))
	for i, x := range list {
		out[i] = jsonBlown{b.Parts[x.Part].Name, number(x.Amps), number(x.Over)}
	}
	return out
}

type (
	jsonDictionary struct {
		Format  string      `json:"format"`
		Version int         `json:"version"`
		Board   string      `json:"board"`
		Idle    []string    `json:"idle_lanes,omitempty"`
		Title   string      `json:"title"`
		Figures jsonFigures `json:"figures"`
		Probes  []jsonProbe `json:"probes"`
		Faults  []jsonFault `json:"faults"`
		Groups  []jsonGroup `json:"groups"`
	}
	jsonFigures struct {
		Detected  float64   `json:"fraction_detected"`
		Isolated  []float64 `json:"fraction_isolated_to_n_parts"`
		GroupSize float64   `json:"expected_group_size"`
		Average   float64   `json:"average_group_size"`
	}
	jsonProbe struct {
		ID       int               `json:"id"`
		Method   string            `json:"method"`
		At       string            `json:"at"`
		State    map[string]string `json:"state,omitempty"` // with power on only
		Panel    string            `json:"panel"`
		PowerOut bool              `json:"all_power_out"`
		Healthy  jsonReading       `json:"healthy"`
	}
	jsonFault struct {
		Name     string      `json:"name"`
		Weight   *float64    `json:"weight"`
		Group    int         `json:"group"`
		Detected bool        `json:"detected"`
		Blown    []jsonBlown `json:"blown"`
		Signs    []jsonSign  `json:"signs"`
	}
	jsonSign struct {
		Probe int      `json:"probe"`
		Value *float64 `json:"value"`
		Shows string   `json:"shows"`
	}
	jsonGroup struct {
		ID       int      `json:"id"`
		Detected bool     `json:"detected"`
		Parts    int      `json:"parts"`
		Faults   []string `json:"faults"`
	}
)

// groupOf gives the group of each fault.
func (d *Dictionary) groupOf() []int {
	of := make([]int, len(d.Faults))
	for g := range d.Groups {
		for _, i := range d.Groups[g].Faults {
			of[i] = g
		}
	}
	return of
}

// WriteJSON prints a dictionary for programs, every sign of every fault.
func (d *Dictionary) WriteJSON(out io.Writer, m *Simulator) error {
	b, f, s := m.Board, d.Figures(), m.Signatures(d)
	j := jsonDictionary{
		Format: "walkback.dictionary", Version: JSONVersion, Board: b.Name, Idle: b.IdleLanes(), Title: b.Title,
		Figures: jsonFigures{f.Detected, append([]float64{}, f.Isolated...), f.GroupSize, f.Average},
		Probes:  make([]jsonProbe, len(d.Probes)), Faults: make([]jsonFault, len(d.Faults)), Groups: make([]jsonGroup, len(d.Groups)),
	}
	for k, p := range d.Probes {
		j.Probes[k] = jsonProbe{k, p.Method.String(), m.At(p), b.SettingMap(p.State.Setting), plugWord(p.State.Unplugged), p.Cold(),
			readingJSON(s.Healthy[k])}
	}
	of := d.groupOf()
	for i := range d.Faults {
		x := jsonFault{d.Names[i], number(d.Weight[i]), of[i], d.Groups[of[i]].Detected, blownJSON(b, d.Faults[i].Blown),
			make([]jsonSign, len(s.Faults[i]))}
		for k, sign := range s.Faults[i] {
			x.Signs[k] = jsonSign{Probe: sign.Probe, Shows: sign.Shows.String()}
			if sign.Shows.Number() {
				x.Signs[k].Value = number(sign.Shows.Value)
			}
		}
		j.Faults[i] = x
	}
	for g, x := range d.Groups {
		j.Groups[g] = jsonGroup{g, x.Detected, x.Parts, make([]string, len(x.Faults))}
		for k, i := range x.Faults {
			j.Groups[g].Faults[k] = d.Names[i]
		}
	}
	return say.JSON(out, j)
}

type (
	jsonClimb struct {
		Format  string            `json:"format"`
		Version int               `json:"version"`
		Board   string            `json:"board"`
		Idle    []string          `json:"idle_lanes,omitempty"`
		State   map[string]string `json:"state"`
		Panel   string            `json:"panel"`
		Faults  []string          `json:"faults"`
		Seen    []string          `json:"seen"`
		Notes   []string          `json:"notes"`
		// Of the faults: the number of the stage at which the board stops, or null.
		StopsAt *int `json:"stops_at,omitempty"`
		// Of what was seen.
		Agree   *int        `json:"single_faults_that_agree,omitempty"`
		Healthy *bool       `json:"healthy_board_agrees,omitempty"`
		Stages  []jsonStage `json:"stages"`
	}
	jsonStage struct {
		Number  int      `json:"number"`
		Words   string   `json:"words"`
		Targets []string `json:"targets"`
		Status  string   `json:"status"`
		Missing string   `json:"missing,omitempty"`
	}
)

// WriteJSON prints a power-up order for programs.
func (c *Climb) WriteJSON(out io.Writer) error {
	b := c.Board
	j := jsonClimb{
		Format: "walkback.stages", Version: JSONVersion, Board: b.Name, Idle: b.IdleLanes(), State: b.SettingMap(c.State.Setting),
		Panel:  plugWord(c.State.Unplugged),
		Faults: append([]string{}, c.Names...), Seen: c.seenWords(), Notes: append([]string{}, c.Notes...),
		Stages: make([]jsonStage, len(b.Stages)),
	}
	if c.Height != nil {
		n := c.singles()
		j.Agree, j.Healthy = &n, &c.Healthy
	} else if stop := Stops(c.Rungs); stop >= 0 {
		j.StopsAt = &b.Stages[stop].Number
	}
	for i, st := range b.Stages {
		j.Stages[i] = jsonStage{st.Number, st.Words, c.targets(i), c.status(i), c.missing(i)}
	}
	return say.JSON(out, j)
}
