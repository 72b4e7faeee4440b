package predict_test

import (
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"pgregory.net/rapid"
)

type reading struct {
	Value, Low, High *float64
	Word, Shows      string
}

type reports struct {
	Format  string
	Version int
	Reports []struct {
		Faults []string
		Nets   []struct {
			Net             string
			Volts, Activity reading
			Ohms            reading `json:"ohms_to_ground"`
			Diode           reading `json:"diode_mode"`
		}
	}
}

func decode[T any](t interface{ Fatal(...any) }, s string) T {
	var v T
	if err := json.Unmarshal([]byte(s), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// Whatever fails, JSON carries numbers or null with a word, and every value lies
// in its band.
func TestJSONCarriesNumbersOrNull(t *testing.T) {
	var list []*predict.Predictor
	for _, name := range boards.Names() {
		list = append(list, demo(t, name))
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(list).Draw(t, "board")
		faults := rapid.SliceOfN(rapid.SampledFrom(p.AllFaults()), 0, 3).Draw(t, "faults")
		st := netlist.Condition{Setting: p.Board.Usual(), Unplugged: rapid.Bool().Draw(t, "unplugged")}
		r, err := p.Report(st, faults...)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := predict.WriteJSON(&b, []*predict.Report{r}, nil); err != nil {
			t.Fatal(err)
		}
		got := decode[reports](t, b.String()).Reports[0]
		if len(got.Nets) != len(p.Board.Nets) || len(got.Faults) != len(faults) {
			t.Fatalf("%d nets, %d faults", len(got.Nets), len(got.Faults))
		}
		for _, n := range got.Nets {
			for _, x := range []reading{n.Volts, n.Activity, n.Ohms, n.Diode} {
				switch {
				case x.Value == nil && x.Word != "OL" && x.Word != "floating":
					t.Fatalf("%s: neither a value nor a word: %+v", n.Net, x)
				case x.Value != nil && (math.Abs(*x.Value) > 1e12 || *x.Low > *x.Value || *x.High < *x.Value):
					t.Fatalf("%s: %g is not from %g to %g", n.Net, *x.Value, *x.Low, *x.High)
				case x.Shows == "":
					t.Fatalf("%s shows nothing", n.Net)
				}
			}
		}
	})
}

// The JSON of a dictionary tells all that the dictionary holds.
func TestDictionaryJSONIsComplete(t *testing.T) {
	p := demo(t, "teasel14")
	d := p.Dictionary()
	got := decode[struct {
		Format  string
		Figures struct {
			Detected float64   `json:"fraction_detected"`
			Isolated []float64 `json:"fraction_isolated_to_n_parts"`
		}
		Probes []struct{ Healthy reading }
		Faults []struct {
			Name  string
			Group int
			Signs []struct {
				Probe int
				Shows string
			}
		}
		Groups []struct{ Faults []string }
	}](t, text(t, func(w io.Writer) error { return d.WriteJSON(w, p.Simulator) }))
	if got.Format != "walkback.dictionary" || len(got.Probes) != len(d.Probes) || len(got.Faults) != len(d.Faults) ||
		len(got.Groups) != len(d.Groups) {
		t.Fatalf("%s: %d probes, %d faults, %d groups", got.Format, len(got.Probes), len(got.Faults), len(got.Groups))
	}
	if f := d.Figures(); got.Figures.Detected != f.Detected || len(got.Figures.Isolated) != len(f.Isolated) {
		t.Errorf("%+v is not %+v", got.Figures, f)
	}
	for i, x := range got.Faults {
		signs := map[int]bool{}
		for _, s := range x.Signs {
			signs[s.Probe] = true
		}
		for k := range d.Probes {
			if want := d.Classes[i][k] != d.Healthy[k]; signs[k] != want {
				t.Errorf("%s: sign at probe %d is %v", x.Name, k, !want)
			}
		}
		if in := got.Groups[x.Group].Faults; !strings.Contains(" "+strings.Join(in, " ")+" ", " "+x.Name+" ") {
			t.Errorf("%s is not in its group %v", x.Name, in)
		}
	}
}

func TestClimbJSON(t *testing.T) {
	p := demo(t, "larkspur13")
	type climb struct {
		Format  string
		StopsAt *int `json:"stops_at"`
		Agree   *int `json:"single_faults_that_agree"`
		Stages  []struct {
			Number int
			Status string
		}
	}
	usual := netlist.Condition{Setting: p.Board.Usual()}
	c, err := p.Climb(usual, nil, parseFaults(t, p, "FB2:open")...)
	if err != nil {
		t.Fatal(err)
	}
	got := decode[climb](t, text(t, c.WriteJSON))
	if got.Format != "walkback.stages" || got.StopsAt == nil || *got.StopsAt != 3 || got.Agree != nil ||
		len(got.Stages) != len(p.Board.Stages) || got.Stages[2].Status != "stops here" {
		t.Errorf("%+v", got)
	}
	// The healthy board is no fault.
	o, err := p.Board.Observe("EDID", "read", p.Board.Usual())
	if err != nil {
		t.Fatal(err)
	}
	if c, err = p.Climb(usual, []netlist.Observation{o}); err != nil {
		t.Fatal(err)
	}
	got = decode[climb](t, text(t, c.WriteJSON))
	if got.StopsAt != nil || got.Agree == nil || *got.Agree != c.Height.Explained-1 {
		t.Errorf("%+v of %d", got, c.Height.Explained)
	}
}
