package trace

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
)

func TestWhatOnlyTheWalkFinds(t *testing.T) {
	const head = "board b\nstate lid open shut\nnet GND ground\nsupply PS1 -> VMAIN\n" // lines 1 to 4
	for _, c := range []struct {
		name, text string
		want       []string // line, severity, code
	}{
		{"a sound board", "fuse F1 VMAIN -> V1\ncontroller U1 vdd=V1 gnd=GND\n    makes READY when V1\n", nil},
		{"a supply pin that nothing feeds", "controller U1 vdd=V9 gnd=GND\n    makes READY when VMAIN\n", []string{"5 error no-source"}},
		{"an enable that nothing drives", "regulator U1 in=VMAIN out=V3 en=EN gnd=GND\ncontroller U2 vdd=V3 gnd=GND\n    makes READY when V3\n",
			[]string{"5 error no-source"}},
		{"an active-low gate that nothing pulls down",
			"pfet Q1 VMAIN -> V3 gate=G_N\nresistor R1 VMAIN -> G_N 100k\ncontroller U2 vdd=V3 gnd=GND\n    makes READY when V3\n",
			[]string{"5 error no-source"}},
		{"a lane that nothing sends", "filter FL1 A -> B\nlane L B\ncontroller U1 vdd=VMAIN gnd=GND\n    makes READY when L\n",
			[]string{"5 error no-source"}},
		{"two rails that wait for each other", "regulator U1 in=VMAIN out=VA en=VB gnd=GND\nregulator U2 in=VMAIN out=VB en=VA gnd=GND\n",
			[]string{"5 error deadlock"}},
		{"two chips whose rules wait for each other",
			"controller U1 vdd=VMAIN gnd=GND\n    drives A when B\ncontroller U2 vdd=VMAIN gnd=GND\n    drives B when A\n",
			[]string{"6 error deadlock"}},
		{"a chip that feeds itself", "regulator U1 in=VA out=VB gnd=GND\nresistor R1 VB -> VA 1\n", []string{"5 error deadlock"}},
		{"a converter that watches its own output is no deadlock",
			"coil L1 VMAIN -> LX r=100m\ndiode D1 LX -> VBL\nboost U1 in=VMAIN lx=LX en=VMAIN fb=FB gnd=GND\nresistor R1 VBL -> FB 1M\nresistor " +
				"R2 FB -> GND 36k\ncontroller U2 vdd=VBL gnd=GND\n    makes READY when VBL\n", nil},
		{"a condition against itself", "controller U1 vdd=VMAIN gnd=GND\n    makes READY when lid=open & lid=shut\n", []string{"6 error never"}},
		{"a condition for a shut lid holds in some state", "controller U1 vdd=VMAIN gnd=GND\n    makes READY when lid=shut\n", nil},
		{"a bridge beside a rail at a plug", "net VMAIN 12V\nnet EN 3.3V\ncontroller U1 vdd=VMAIN gnd=GND\n    drives EN\nconnector J2\n" +
			"    pin 1 VMAIN -> A\n    pin 3 EN -> B\nresistor R1 VMAIN -> EN 1ohm\n", []string{"12 error bridge"}},
		{"a bridge over a guard, on the far side of a bead", "net VMAIN 12V\nnet EN 3.3V\ncontroller U1 vdd=VMAIN gnd=GND\n    drives EN\n" +
			"connector J2\n    pin 1 EN_J -> B\n    pin 2 GND -> C\n    pin 3 VMAIN -> A\n" +
			"ferrite FB1 EN -> EN_J r=1\nresistor R1 EN -> VMAIN 10ohm\n",
			[]string{"14 error bridge"}},
		{"a pull-up to a rail beside it is no bridge", "net VMAIN 12V\nnet EN 3.3V\ncontroller U1 vdd=VMAIN gnd=GND\n    drives EN\n" +
			"connector J2\n    pin 1 VMAIN -> A\n    pin 2 EN -> B\nresistor R1 VMAIN -> EN 10k\n", nil},
		{"what joins a rail to a pin that is not beside it", "net VMAIN 12V\nnet EN 3.3V\nnet X 3.3V\ncontroller U1 vdd=VMAIN gnd=GND\n" +
			"    drives EN X\nconnector J2\n    pin 1 VMAIN -> A\n    pin 2 X -> B\n    pin 3 EN -> C\nresistor R1 VMAIN -> EN 1ohm\n", nil},
		{"a fuse written from load to source", "fuse F1 V1 -> VMAIN\ncontroller U1 vdd=V1 gnd=GND\n    makes READY when V1\n",
			[]string{"5 warning backwards"}},
		{"a resistor may be written either way", "resistor R1 V1 -> VMAIN 1\ncontroller U1 vdd=V1 gnd=GND\n    makes READY when V1\n", nil},
		{"an nfet to ground is written from drain to source",
			"pfet Q1 VMAIN -> V3 gate=G_N\nnfet Q2 G_N -> GND gate=VMAIN\nresistor R1 VMAIN -> G_N 100k\ncontroller U2 vdd=V3 gnd=GND\n    makes " +
				"READY when V3\n", nil},
	} {
		var got []string
		for _, p := range Check(boardtest.Build(t, head+c.text)) {
			got = append(got, fmt.Sprintf("%d %s %s", p.Line, p.Severity, p.Code))
			if p.Msg == "" || p.Want == "" {
				t.Errorf("%s: a problem without a message or what was expected: %+v", c.name, p)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s\n%s", c.name, diff, head+c.text)
		}
	}
}

func TestProblemsNameTheParts(t *testing.T) {
	problems := Check(boardtest.Build(t,
		"board b\nnet GND ground\nsupply PS1 -> VMAIN\nregulator U1 in=VMAIN out=VA en=VB gnd=GND\nregulator U2 in=VMAIN out=VB en=VA gnd=GND\n"))
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "U1, U2") {
		t.Errorf("%v, want one problem that names U1 and U2", problems)
	}
}

func TestDemoBoardsHaveNoProblems(t *testing.T) {
	for _, name := range boards.Names() {
		if problems := Check(boardtest.Demo(t, name)); len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
		}
	}
}

func TestSettingsAreAllCombinationsTheUsualFirst(t *testing.T) {
	b := boardtest.Build(t, "board b\nstate a x y z\nstate c p q\nnet GND ground\nsupply PS1 -> V\ncapacitor C1 V -> GND 1u\n")
	var got []string
	for s := range settings(b) {
		got = append(got, b.SettingText(s))
	}
	want := []string{"a=x c=p", "a=y c=p", "a=z c=p", "a=x c=q", "a=y c=q", "a=z c=q"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("settings (-want +got):\n%s", diff)
	}
}
