package netlist

import (
	"math"
	"strconv"
	"strings"
)

// Say writes a reading of a probe, in V or Ω, so that ParseReading reads it back:
// +Inf is floating in volts and OL in the others, and for looking 1 is yes. The state
// is left out where ParseReading takes it by itself in the usual setting.
func (b *Board) Say(p Probe, value float64) string {
	return b.SayPoint(p) + "=" + sayMethod(p.Method) + sayValue(p.Method, value) + b.sayState(p)
}

// SayReading writes a reading as Say does, or with the word that was seen.
func (b *Board) SayReading(r Reading) string {
	if len(r.Or) > 0 {
		one := r
		one.Or = nil
		text := b.SayReading(one)
		for _, o := range r.Or {
			text += or + b.SayReading(o)
		}
		return text
	}
	if r.Seen == nil {
		return b.Say(r.Probe, r.Value)
	}
	return b.TargetName(r.Seen.Target) + "=" + strings.ToLower(r.Seen.Word) + b.sayState(r.Probe)
}

// SayPoint names the point of a probe as a reading does: VBL, F3, FL2.A0P, or
// A0P_J/A0N_J; of a probe without a net, a part or a fact nothing.
func (b *Board) SayPoint(p Probe) string {
	switch {
	case p.Fact != None:
		return b.Facts[p.Fact].Name
	case p.Part != None:
		if channel := b.Channels(p.Part)[p.Channel]; channel != "" {
			return b.Parts[p.Part].Name + "." + channel
		}
		return b.Parts[p.Part].Name
	case p.Net == None:
		return ""
	case p.Other != None:
		return b.Nets[p.Net].Name + "/" + b.Nets[p.Other].Name
	}
	return b.Nets[p.Net].Name
}

func sayMethod(how Method) string {
	switch how {
	case Ohms:
		return "ohms:"
	case Diode:
		return "diode:"
	case Activity:
		return "swing:"
	case Volts, Look, Across:
	}
	return ""
}

func sayValue(how Method, v float64) string {
	switch {
	case how == Look && v != 0:
		return "yes"
	case how == Look:
		return "no"
	case math.IsInf(v, 1) && how == Volts:
		return "floating"
	case math.IsInf(v, 1):
		return "OL"
	case how == Ohms:
		return sayNumber(v, Ohm, "") // the method says the unit
	case how == Across:
		return sayNumber(v, Ohm, "ohm")
	}
	return sayNumber(v, Volt, "V")
}

// sayNumber writes a number with all its digits, with a prefix where that changes
// nothing of it.
func sayNumber(v float64, unit Unit, name string) string {
	prefix, mul := "", 1.0
	switch a := math.Abs(v); {
	case a >= 1e6 && unit == Ohm:
		prefix, mul = "M", 1e6
	case a >= 1e3 && unit == Ohm:
		prefix, mul = "k", 1e3
	case a != 0 && a < 0.1:
		prefix, mul = "m", 1e-3
	}
	text := strconv.FormatFloat(v/mul, 'f', -1, 64) + prefix + name
	if back, err := ParseValue(text, unit); err == nil && back == v {
		return text
	}
	return strconv.FormatFloat(v, 'f', -1, 64) + name
}

// sayState is empty where ParseReading takes the state by itself.
func (b *Board) sayState(p Probe) string {
	var words []string
	if !p.Cold() {
		for i, v := range p.State.Setting {
			if v != 0 {
				words = append(words, b.States[i].Name+"="+b.States[i].Values[v])
			}
		}
	}
	switch {
	case p.State.Unplugged == b.unplugs(p):
	case p.State.Unplugged:
		words = append(words, "panel=out")
	default:
		words = append(words, "panel=in")
	}
	if len(words) == 0 {
		return ""
	}
	return "@" + strings.Join(words, ",")
}

// SayTyped writes a reading of a probe with a value as it was typed.
func (b *Board) SayTyped(p Probe, value string) string {
	return b.SayPoint(p) + "=" + value + b.sayState(p)
}

// SayForm tells how a reading of a probe is typed: "VBL=ohms:…ohm", "LIGHT=yes or LIGHT=no".
func (b *Board) SayForm(p Probe) string {
	switch p.Method {
	case Look:
		return b.SayTyped(p, "yes") + " or " + b.SayTyped(p, "no")
	case Ohms, Across:
		return b.SayTyped(p, sayMethod(p.Method)+"…ohm")
	case Volts, Activity, Diode:
	}
	return b.SayTyped(p, sayMethod(p.Method)+"…V")
}
