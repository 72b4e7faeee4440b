package predict_test

import (
	"bytes"
	"math"
	"testing"

	"example.org/walkback/trace/predict"
)

const kindsFile = "../../testdata/ngspice/kinds.json" // made by kinds.py beside it

type kindCase struct {
	Board  string             `json:"board"`
	Within float64            `json:"within"`
	Volts  map[string]float64 `json:"volts"`
}

// TestKindsAgreeWithNgspice compares zener diode, digital transistor and level
// shifter with SPICE's own models of diode, bipolar transistor and MOSFET, as ngspice
// 39 solves them. With -update-ngspice it solves our decks of them too, and must find
// our levels.
func TestKindsAgreeWithNgspice(t *testing.T) {
	_, list := readRecording[kindCase](t, kindsFile)
	if len(list) < 25 {
		t.Errorf("only %d cases", len(list))
	}
	for k, c := range list {
		b := readBoard(t, "kinds", c.Board)
		m := predict.New(b)
		r := m.Run(predict.State{Setting: b.Usual()}, predict.Hypothesis{})
		for name, want := range c.Volts {
			n, _ := b.Net(name)
			if got := r.Level(n); math.Abs(got-want) > c.Within {
				t.Errorf("case %d, %s: %.4g V, ngspice has %.4g V\n%s", k, name, got, want, c.Board)
			}
		}
		if !*updateNgspice {
			continue
		}
		var deck bytes.Buffer
		if err := r.WriteSPICE(&deck); err != nil {
			t.Fatal(err)
		}
		found := ngspice(t, deck.Bytes())
		for _, x := range named.FindAllStringSubmatch(deck.String(), -1) {
			n, _ := b.Net(x[2])
			if got, ok := found[x[1]]; !ok || !agree(r, n, got) {
				t.Errorf("case %d, %s: %.9g V, our deck in ngspice has %.9g V\n%s", k, x[2], r.Level(n), got, c.Board)
			}
		}
	}
}
