package power

import "example.org/walkback/trace/panel/edid"

const displayIDSource = "DisplayID 1.3, interface power sequencing block; what T1 to T6 stand between: from memory"

// FromDisplayID makes a profile of what a panel says of itself in the interface power
// sequencing block of a DisplayID extension. That T1 to T6 are the times of the usual LVDS
// order fits the forms of the fields: T1 has a least and a greatest value, T2 and T3 a
// greatest one, T4 to T6 a least one.
func FromDisplayID(t edid.PowerSequence) Profile {
	p := Profile{Name: "displayid", Title: "what the panel's own DisplayID block asks for"}
	add := func(name string, from, to Event, s edid.Span, doc string) {
		times := atLeast(s.Min * 1e3)
		if s.Max != 0 {
			times = span(s.Min*1e3, s.Max*1e3)
		}
		p.Windows = append(p.Windows, Window{name, from, to, times, doc, displayIDSource})
	}
	add("T1", SupplyOn, SupplyUp, t.T1, "rise of the supply, 10 % to 90 %")
	add("T2", SupplyUp, DataOn, t.T2, "supply to data")
	add("T5", DataOn, LightOn, t.T5, "data to backlight")
	add("T6", LightOff, DataOff, t.T6, "backlight off to data off")
	add("T3", DataOff, SupplyOff, t.T3, "data off to supply off")
	add("T4", SupplyDown, SupplyAgain, t.T4, "off time before the next start")
	return p
}
