package netlist

import (
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// TestNamesThatLookAlike warns of names that the eye cannot tell apart, and of no others.
func TestNamesThatLookAlike(t *testing.T) {
	for _, c := range []struct{ name, src, want string }{
		{"one alphabet", "net ПИТ,ЭКР,背光,Å1 3V", ""},
		{"units", "net R40kΩ,R40kΩ2,C10µF,C10μF2,R5\u2126 3V", ""},
		{"capitals and digits", "net VBL0,VBLO,vbl0 3V", ""},
		{"letters of Cyrillic", "net VBL 3V\nnet \u0412\u041e\u0421,BOC 3V",
			"\u0412\u041e\u0421 looks like BOC and is another name: <0412><041E><0421> is not BOC"},
		{"letters of Greek", "net \u0391\u0392 3V\nfuse AB V -> G", "\u0391\u0392 looks like AB and is another name: <0391><0392> is not AB"},
		{"wide letters", "net VX 3V\nnet \uff36X 3V", "\uff36X looks like VX and is another name: <FF36>X is not VX"},
		{"a dash", "net A-B 3V\nnet A\u2013B 3V", "A\u2013B looks like A-B and is another name: A<2013>B is not A-B"},
		{"two forms of one letter", "net \u00e9X 3V\nnet e\u0301X 3V",
			"e\u0301X looks like \u00e9X and is another name: e<0301>X is not <00E9>X"},
		{"the other form alone", "net e\u0301X 3V", "e\u0301X is written otherwise than a keyboard writes it: e<0301>X"},
		{"two alphabets", "net V\u0411X 3V", "V\u0411X has letters of two alphabets, Latin and Cyrillic: V<0411>X"},
		{"a lane", "net A0P,A0N 1V\nlane A.0 A0P A0N\nlane \u0410.0 A0P A0N", "\u0410.0 looks like A.0 and is another name: <0410>.0 is not A.0"},
		{"a symptom", "symptom dark \"\" V=0V\nsymptom d\u0430rk \"\" V=0V",
			"d\u0430rk looks like dark and is another name: d<0430>rk is not dark"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, problems := Read("test.board", head+c.src+"\n")
			var got string
			for _, p := range problems {
				if p.Severity == mistake.Error {
					t.Errorf("an error: %s", p.Report())
				}
				if p.Code == "look-alike" {
					got += p.Msg
				}
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}
