package power

// DisplayID is what the interface power sequencing block (tag 0x0D) of a DisplayID
// extension says, in the order of its bytes. A Max of Unlimited is a time that
// has a least value only.
type DisplayID struct {
	T1 Span // rise of the supply
	T2 Span // supply to data
	T3 Span // data off to supply off
	T4 Span // off time
	T5 Span // data to backlight
	T6 Span // backlight off to data off
}

// Milliseconds makes a Span of times in ms; a negative hi is no limit.
func Milliseconds(lo, hi float64) Span {
	if hi < 0 {
		return atLeast(lo)
	}
	return span(lo, hi)
}

const displayIDSource = "DisplayID 1.3, interface power sequencing block; what T1 to T6 stand between: from memory"

// FromDisplayID makes a profile of what a panel says of itself. That T1 to T6 are
// the times of the usual LVDS order fits the forms of the fields: T1 has a least
// and a greatest value, T2 and T3 a greatest one, T4 to T6 a least one.
func FromDisplayID(t DisplayID) Profile {
	return Profile{
		Name:  "displayid",
		Title: "what the panel's own DisplayID block asks for",
		Windows: []Window{
			{"T1", SupplyOn, SupplyUp, t.T1, "rise of the supply, 10 % to 90 %", displayIDSource},
			{"T2", SupplyUp, DataOn, t.T2, "supply to data", displayIDSource},
			{"T5", DataOn, LightOn, t.T5, "data to backlight", displayIDSource},
			{"T6", LightOff, DataOff, t.T6, "backlight off to data off", displayIDSource},
			{"T3", DataOff, SupplyOff, t.T3, "data off to supply off", displayIDSource},
			{"T4", SupplyDown, SupplyAgain, t.T4, "off time before the next start", displayIDSource},
		},
	}
}
