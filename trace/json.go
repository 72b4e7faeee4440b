package trace

import (
	"io"
	"math"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// JSONVersion is the version of the schema that WriteJSON writes. It changes
// when a field changes its meaning or goes away.
const JSONVersion = 1

// The types below are the schema; README.md documents it.
type (
	jsonWalk struct {
		Format    string            `json:"format"`
		Version   int               `json:"version"`
		Board     string            `json:"board"`
		Idle      []string          `json:"idle_lanes,omitempty"`
		Title     string            `json:"title"`
		State     map[string]string `json:"state"`
		Symptoms  []jsonObservation `json:"symptoms"`
		Given     []jsonObservation `json:"given"`
		History   []string          `json:"history,omitempty"`
		Valid     bool              `json:"valid_in_state"`
		Steps     []jsonStep        `json:"steps"`
		Sources   []string          `json:"sources"`
		Singles   []string          `json:"single_points_of_failure"`
		Common    []string          `json:"one_fault_explains_every_symptom"`
		Several   []string          `json:"several_faults_of_one_part_explain"`
		Against   []jsonAgainst     `json:"against"`
		Loops     []jsonLoop        `json:"loops"`
		Redundant []jsonRedundant   `json:"redundant"`
	}
	jsonObservation struct {
		Name string `json:"name"`
		Seen string `json:"seen"`
	}
	jsonStep struct {
		ID     int         `json:"id"`
		Parent int         `json:"parent"`
		Depth  int         `json:"depth"`
		Kind   StepKind    `json:"kind"`
		Name   string      `json:"name"`
		Part   string      `json:"part_kind,omitempty"`
		Want   string      `json:"want,omitempty"`
		Reason string      `json:"reason"`
		Does   string      `json:"does,omitempty"`
		From   *jsonPin    `json:"from,omitempty"`
		To     *jsonPin    `json:"to,omitempty"`
		Expect *jsonExpect `json:"expect,omitempty"`
		// Computed is what the simulation of the healthy board gives.
		Computed *jsonComputed       `json:"computed,omitempty"`
		Points   []netlist.TestPoint `json:"points,omitempty"`
		Loads    []jsonLoad          `json:"loads,omitempty"`
		Single   bool                `json:"single"`
		Source   bool                `json:"source"`
		Proven   bool                `json:"proven"`
		Held     bool                `json:"held_by_state"`
		Again    int                 `json:"again,omitempty"`
		Loop     bool                `json:"loop,omitempty"`
	}
	jsonPin struct {
		Net string `json:"net"`
		Pin string `json:"pin,omitempty"`
	}
	jsonLoad struct {
		Part    string `json:"part"`
		Kind    string `json:"part_kind"`
		Pin     string `json:"pin,omitempty"`
		How     string `json:"how"`
		Through string `json:"through,omitempty"`
		LeadsTo string `json:"leads_to,omitempty"`
	}
	jsonLoop struct {
		Kind  LoopKind `json:"kind"`
		Parts []string `json:"parts"`
	}
	jsonAgainst struct {
		Name     string      `json:"name"`
		Kind     AgainstKind `json:"kind"`
		Suspects []string    `json:"suspects"`
	}
	jsonRedundant struct {
		Net    string   `json:"net"`
		Faults int      `json:"faults_needed"`
		Cut    []string `json:"smallest_cut"`
	}
)

// jsonComputed is a simulated reading in V; floating when nothing holds the net.
type jsonComputed struct {
	Volts    float64 `json:"volts"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Swing    float64 `json:"swing,omitempty"`
	Floating bool    `json:"floating,omitempty"`
}

// jsonExpect is what a net reads on a healthy board: volts, a tolerance as a
// fraction, hertz.
type jsonExpect struct {
	Volts float64 `json:"volts"`
	Tol   float64 `json:"tolerance"`
	Swing float64 `json:"swing_volts,omitempty"`
	Rate  float64 `json:"rate_hertz,omitempty"`
	Like  string  `json:"taken_over_from,omitempty"`
}

// expectJSON returns what a net reads in a setting, or nil when the board file
// does not say.
func expectJSON(b *netlist.Board, n netlist.NetID, s netlist.Setting) *jsonExpect {
	e, ok := b.ExpectIn(n, s)
	if !ok {
		return nil
	}
	x := &jsonExpect{Volts: e.Value, Tol: e.Tol, Swing: e.Swing, Rate: e.Rate}
	if like := b.Nets[n].Like; like != netlist.None {
		x.Like = b.Nets[like].Name
	}
	return x
}

// WriteJSON prints a walk for programs.
func WriteJSON(out io.Writer, w *Walk) error {
	b := w.Board
	j := jsonWalk{
		Format: "walkback.trace", Version: JSONVersion, Board: b.Name, Idle: b.IdleLanes(), Title: b.Title, State: b.SettingMap(w.Setting),
		Symptoms: w.observationsJSON(w.Symptoms), Given: w.observationsJSON(w.Given), History: w.History, Valid: len(w.Held) == 0,
		Steps: make([]jsonStep, 0, len(w.Steps)), Sources: w.sourceNames(), Singles: make([]string, 0, len(w.Singles)),
		Common: w.partList(w.Common), Several: w.partList(w.Several), Against: []jsonAgainst{}, Loops: []jsonLoop{}, Redundant: []jsonRedundant{},
	}
	for i := range w.Steps {
		j.Steps = append(j.Steps, w.stepJSON(&w.Steps[i]))
	}
	for _, u := range w.Singles {
		j.Singles = append(j.Singles, UnitText(b, u))
	}
	for _, a := range w.Against {
		j.Against = append(j.Against, jsonAgainst{a.Name, a.Kind, w.partList(a.Suspects)})
	}
	for _, l := range w.Loops {
		j.Loops = append(j.Loops, jsonLoop{l.Kind, w.partList(l.Parts)})
	}
	for _, r := range w.Redundant {
		x := jsonRedundant{Net: b.Nets[r.Net].Name, Faults: r.Faults, Cut: []string{}}
		for _, u := range r.Units {
			x.Cut = append(x.Cut, UnitText(b, u))
		}
		j.Redundant = append(j.Redundant, x)
	}
	return say.JSON(out, j)
}

func (w *Walk) observationsJSON(list []netlist.Observation) []jsonObservation {
	out := make([]jsonObservation, len(list))
	for i, o := range list {
		out[i] = jsonObservation{w.Board.ObservationName(o), o.Word}
	}
	return out
}

func (w *Walk) stepJSON(s *Step) jsonStep {
	b := w.Board
	j := jsonStep{
		ID: s.ID, Parent: s.Parent, Depth: s.Depth, Kind: s.Kind, Name: s.Name, Reason: w.ReasonWord(s), Does: s.Does,
		From: w.pinJSON(s.From), To: w.pinJSON(s.To), Single: s.Single, Source: s.Source, Proven: s.Proven, Held: s.Held, Again: s.Again,
		Loop: s.Loop,
	}
	if s.Kind == PartStep {
		j.Part = b.Parts[s.Part].Kind.Name
	}
	if s.Kind == NetStep {
		j.Want = s.At.String()
		j.Expect = expectJSON(b, s.Net, w.Setting)
		if c := w.computed(s.Net); c.Known {
			j.Computed = &jsonComputed{milli(c.Volts), milli(c.Low), milli(c.High), milli(c.Swing), c.Floats}
		}
	}
	for _, p := range s.Points {
		j.Points = append(j.Points, b.TestPoint(p))
	}
	for _, l := range s.Loads {
		x := jsonLoad{Part: b.Parts[l.Part].Name, Kind: b.Parts[l.Part].Kind.Name, Pin: l.Pin, How: l.How}
		if l.Through != netlist.None {
			x.Through = b.Parts[l.Through].Name
		}
		if l.Far != netlist.None {
			x.LeadsTo = b.Nets[l.Far].Name
		}
		j.Loads = append(j.Loads, x)
	}
	return j
}

// milli rounds to the last digit that a bench meter shows.
func milli(v float64) float64 { return math.Round(v*1000) / 1000 }

func (w *Walk) pinJSON(p Pin) *jsonPin {
	if p.Net == netlist.None {
		return nil
	}
	return &jsonPin{w.Board.Nets[p.Net].Name, p.Label}
}
