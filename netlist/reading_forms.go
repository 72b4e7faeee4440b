package netlist

import (
	"fmt"
	"strings"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// ReadingForm is one way of writing a reading.
type ReadingForm struct {
	Text string   // an example, on the board larkspur13
	Also []string // the same in other letters
	Says string   // how it is understood; empty when it is refused
	Near string   // of what is refused: what is offered instead, may be empty
	Doc  string
}

// ReadingForms is THE list of how a reading may be written, for every command and for
// symptom lines: help, reference and tests are made from it. What can mean one thing
// only is understood; what could hide a short or an open is refused with a hint. In a
// board file a blank parts words, so a number and its unit stand together there, and => is
// an arrow.
var ReadingForms = []ReadingForm{
	{"VBL=12.2V", []string{"VBL=12.2", "vbl=12.2v", "VBL=12V2", "VBL=volts:12.2", "VBL = 12.2 V", "VBL=12.2 V", "TP7=12.2V", "tp7=12.2"},
		"VBL=12.2V", "", "DC volts of a net against ground, panel plugged; also at one of its test points, in capitals or not"},
	{"VBL=0V", []string{"VBL=0", "VBL=-0", "VBL=0 V"}, "VBL=0V", "", "nothing is nothing with a minus too"},
	{"BL_FB=420mV", []string{"TP15=0.42", "tp15=420 mV", "BL_FB=0.42V"}, "BL_FB=0.42V", "", "a part of a volt"},
	{"VBL=low", []string{"VBL=LOW"}, "VBL=low", "",
		"a level in a word: low, zero, high, floating, input (of a rail: at the level of its input), above, ok, wrong"},
	{"BL_PWM=swing:3.3V", []string{"BL_PWM=swing:3.3", "bl_pwm = swing: 3.3 V"}, "BL_PWM=swing:3.3V", "",
		"by how many volts a net moves, peak to peak"},
	{"BL_PWM=quiet", []string{"BL_PWM=Quiet"}, "BL_PWM=quiet", "", "whether a net moves: quiet, toggling, alive"},
	{"A.0=quiet", []string{"a.0=quiet", "A.0 = quiet"}, "A.0=quiet", "", "whether a lane is alive: quiet, toggling, alive"},
	{"LIGHT=no", []string{"light=no", "LIGHT = no"}, "LIGHT=no", "",
		"what is seen without a meter: yes, no, seen, unseen, read, unread, present, absent, ok, wrong"},
	{"VBL=ohms:40k", []string{"VBL=40k", "VBL=40 k", "VBL=40kohm", "VBL=40kΩ", "VBL=40 kΩ", "VBL=40Kohms", "VBL=ohms:40 kOhm", "TP7=40k"},
		"VBL=ohms:40k", "", "ohms to ground, all power out, panel unplugged"},
	{"VBL=ohms:0.1", []string{"VBL=0.1ohm", "VBL=0.1 ohm", "VBL=0R1", "VBL=100mohm", "VBL=100 mΩ"}, "VBL=ohms:0.1", "",
		"the same, near a short"},
	{"VBL=ohms:0.4M", []string{"VBL=0.4M", "VBL=0.4 Meg", "VBL=0.4MEG", "VBL=ohms:0.4 Megohm", "VBL=0.4 MΩ"}, "VBL=ohms:400k", "",
		"megohms, as meters show them too"},
	{"VBL=OL", []string{"VBL=ol", "VBL=open", "VBL=ohms:OL", "VBL=overload", "VBL=OVLD", "VBL=>20 MΩ", "VBL=>50M", "VBL=ohms:>20M"},
		"VBL=ohms:OL", "",
		"ohms, and the meter shows no number; more than 20 MΩ is that too"},
	{"VBL=diode:0.62", []string{"VBL=diode:0.62V", "VBL=diode: 620 mV", "TP7=diode:0.62"}, "VBL=diode:0.62V", "",
		"diode mode, red lead on ground, black on the point"},
	{"VBL=diode:OL", []string{"VBL=diode:open", "VBL=diode:>2V"}, "VBL=diode:OL", "", "diode mode, and the meter shows no number"},
	{"F3=80mohm", []string{"F3=0.08", "f3=80m", "F3=0.08 ohm", "F3=80 mΩ", "F3=ohms:0.08"}, "F3=80mohm", "", "ohms from end to end of a part"},
	{"F3=OL", []string{"F3=open", "F3=ohms:OL", "F3=>20M"}, "F3=OL", "", "a part that is open"},
	{"FL2.A0P=4ohm", []string{"fl2.a0p=4", "FL2.A0P=4 Ω"}, "FL2.A0P=4ohm", "", "one way through a part of several: PART.PIN or PART.NET"},
	{"J2.25=0.05ohm", []string{"j2.25=50m", "J2.25=0.05@panel=in"}, "J2.25=50mohm", "",
		"a contact of a connector, which means something only when plugged: all power out, panel plugged"},
	{"J2.25=OL@panel=out", nil, "J2.25=OL@panel=out", "", "the same with the panel unplugged, where a contact of a connector reads open"},
	{"A0P_J/A0N_J=100ohm", []string{"A0P_J/A0N_J=100", "A0P_J / A0N_J = 100 Ω"}, "A0P_J/A0N_J=100ohm", "", "ohms between two nets"},
	{"LIGHT=no@lid=shut", []string{"LIGHT=no@lid=shut,power=run", "LIGHT=no @ lid=shut"}, "LIGHT=no@lid=shut", "",
		"in another state of the board"},
	{"VBL=ohms:40k@panel=in", nil, "VBL=ohms:40k@panel=in", "", "with the panel plugged, or unplugged with power on: @panel=in, @panel=out"},
	{"VBL=0,1", nil, "", "0.1", "a comma can stand for the point or for thousands"},
	{"VBL=1,200ohm", nil, "", "1.200ohm", "a comma can stand for the point or for thousands"},
	{"VBL=0L", []string{"VBL=ohms:0L", "F3=0L"}, "", "", "a zero and an L can be a short and can be open"},
	{"VBL=NaN", []string{"VBL=blown", "F3=blown", "VBL=ohms:inf"}, "", "OL", "no number that a meter shows"},
	{"VBL=short", []string{"F3=short", "VBL=ohms:shorted"}, "", "0ohm", "a short is told by the number that the meter shows"},
	{"F3=wrong", []string{"F3=ok", "VBL=ohms:wrong"}, "", "", "a part is read by a number or OL"},
	{"VBL=>1M", []string{"VBL=ohms:>1M", "F3=>1M"}, "", "", "so far goes the range of the meter; a healthy board may read more, too"},
	{"VBL=40m", []string{"VBL=40 m"}, "", "", "thousandths of a volt or of an ohm"},
	{"VBL=12X", nil, "", "", "no unit"},
	{"VBL=ohms:12V", []string{"F3=12V"}, "", "", "volts where ohms are read"},
	{"VBL=omhs:3", nil, "", "ohms", "the methods are volts, swing, ohms, diode"},
	{"VBL=ohms:-4", []string{"F3=-4"}, "", "", "less than nothing"},
	{"VBL=99999V", nil, "", "", "more than any point of a board"},
	{"VLB=12V", nil, "", "VBL", "no such name"},
	{"FL2=4ohm", nil, "", "", "a part with several ways through it"},
	{"EDID=redd", nil, "", "read", "no such word"},
	{"VBL=0V@lip=shut", nil, "", "lid", "no such state"},
	{"VBL=0V@lid=shut,lid=open", []string{"VBL=ohms:3@panel=in,panel=out"}, "", "", "two values of one state"},
	{"VBL=ohms:3@panel=maybe", []string{"VBL=ohms:3@panel", "VBL=0V@panel="}, "", "", "the panel is in or out"},
	{"VBL=ohms:40k@lid=shut", nil, "", "", "with all power out the board has no state but the panel's"},
	{"GND=0V", nil, "", "", "ground is what readings are taken against"},
}

// ReadingsText tells how readings are typed: the words first, then the forms.
func ReadingsText() string {
	var b strings.Builder
	b.WriteString("A reading is POINT=VALUE, or POINT=VALUE@STATE=VALUE. The point is a net, a test point, a\n" +
		"lane, a fact, a part (from end to end), PART.CHANNEL or two nets with a stroke between,\n" +
		"in capitals or not where that leaves one name. Every command, files of readings and the\n" +
		"symptom lines of a board file read it alike; in a board file a blank parts words and\n" +
		"=> is an arrow, so a number and its unit stand together there, and OL stands for a > of the\n" +
		"meter. The examples are of larkspur13.\n\nUnderstood\n")
	for _, f := range ReadingForms {
		if f.Says == "" {
			continue
		}
		b.WriteString(formLine(f.Text, f.Doc))
		if len(f.Also) > 0 {
			b.WriteString(say.Hang("      also  ", "            ", strings.Join(f.Also, ",  "), formsWidth))
		}
	}
	b.WriteString("\nRefused, with a hint\n")
	for _, f := range ReadingForms {
		if f.Says != "" {
			continue
		}
		text := f.Doc
		if f.Near != "" {
			text += "; " + mistake.DidYouMean(f.Near)
		}
		b.WriteString(formLine(f.Text, text))
	}
	return strings.TrimRight(b.String(), "\n")
}

// formLine writes a form with what it is, broken to the width.
func formLine(text, doc string) string {
	return say.Hang(fmt.Sprintf("  %-22s ", text), strings.Repeat(" ", 25), doc, formsWidth)
}

// formsWidth is where the lists of ReadingsText are broken.
const formsWidth = 90
