package predict_test

import (
	"encoding/csv"
	"io"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// table reads CSV back; the reader refuses rows of different lengths.
func table(t *testing.T, s string) (rows []map[string]string) {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(s)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func TestCSVTellsWhatDiffers(t *testing.T) {
	for _, name := range boards.Names() {
		p := demo(t, name)
		s := sheet(t, p, "F3:open")
		rows := table(t, text(t, func(w io.Writer) error {
			return predict.WriteCSV(w, []*predict.Report{s.Healthy, s.Faulty}, nil)
		}))
		// Four methods a net, in both reports, and the rest once in each.
		one := 4*len(p.Board.Nets) + len(s.Healthy.Parts) + len(s.Healthy.Facts) + len(s.Healthy.Regimes)
		if len(rows) != 2*one {
			t.Errorf("%s: %d rows, not %d", name, len(rows), 2*one)
		}
		for i, r := range rows {
			switch {
			case i < one && (r["differs"] != "no" || r["faults"] != ""):
				t.Fatalf("%s: the healthy board differs from itself: %v", name, r)
			case i >= one && r["name"] == "F3" && (r["differs"] != "yes" || r["shows"] != "OL" || r["value"] != "" || r["faults"] != "F3:open"):
				t.Errorf("%s: %v", name, r)
			}
		}
	}
}

// Without the healthy board among the reports nothing is said to differ.
func TestCSVOfStatesHasNothingToDifferFrom(t *testing.T) {
	p := demo(t, "larkspur13")
	list, err := p.Reports(false, parseFaults(t, p, "F3:open")...)
	if err != nil {
		t.Fatal(err)
	}
	states := map[string]bool{}
	for _, r := range table(t, text(t, func(w io.Writer) error { return predict.WriteCSV(w, list, nil) })) {
		states[r["state"]] = true
		if r["differs"] != "" {
			t.Fatal(r)
		}
	}
	if len(states) != len(list) || len(list) != 6 {
		t.Errorf("%d states in %d reports", len(states), len(list))
	}
}

func TestDictionaryCSVHasEveryFault(t *testing.T) {
	p := demo(t, "teasel14")
	d := p.Dictionary()
	seen := map[string]int{}
	for _, r := range table(t, text(t, func(w io.Writer) error { return d.WriteCSV(w, p.Simulator) })) {
		seen[r["fault"]]++
		if (r["detected"] == "yes") != (r["method"] != "") || r["method"] != "" && r["shows"] == r["healthy"] {
			t.Error(r)
		}
	}
	for i, name := range d.Names {
		want := 0
		for k := range d.Probes {
			if d.Classes[i][k] != d.Healthy[k] {
				want++
			}
		}
		if seen[name] != max(1, want) {
			t.Errorf("%s has %d rows, not %d", name, seen[name], max(1, want))
		}
	}
}

func TestClimbCSV(t *testing.T) {
	p := demo(t, "larkspur13")
	c, err := p.Climb(netlist.Condition{Setting: p.Board.Usual()}, nil, parseFaults(t, p, "FB2:open")...)
	if err != nil {
		t.Fatal(err)
	}
	rows := table(t, text(t, c.WriteCSV))
	if len(rows) != len(p.Board.Stages) || rows[2]["status"] != "stops here" || !strings.HasPrefix(rows[2]["missing"], "V3_ID ") {
		t.Error(rows)
	}
}
