package power

import "slices"

// Where the numbers of the built-in profiles come from.
const (
	memory   = "from memory"
	practice = "common practice, no source"
	chipset  = "public data sheet of a notebook chipset, table of panel power sequence timing parameters"
	edp13    = "Linux kernel, display driver i915, pps_init_delays_spec: upper limits from eDP 1.3"
	kernel   = "Linux kernel, drivers/gpu/drm/panel/panel-edp.c, struct panel_delay"
)

func ms(v float64) Time { return Time(v * float64(Millisecond)) }

func span(lo, hi float64) Span { return Span{ms(lo), ms(hi)} }

func atLeast(lo float64) Span { return Span{ms(lo), Unlimited} }

// lightWindows are what LED drivers in notebook panels usually want. The names
// L1 to L4 are ours: data sheets number them on after their last T.
var lightWindows = []Window{
	{"L1", LightSupplyOn, PWMOn, atLeast(10), "LED driver supplied before it is dimmed", memory + ", typical of notebook panel data sheets"},
	{"L2", PWMOn, LightOn, atLeast(0), "dimming runs before the enable", memory + ", typical of notebook panel data sheets"},
	{"L3", LightOff, PWMOff, atLeast(0), "enable falls before dimming stops", memory + ", typical of notebook panel data sheets"},
	{"L4", PWMOff, LightSupplyOff, atLeast(10), "dimming stops before the supply of the LED driver", memory + ", typical of notebook " +
		"panel data sheets"},
}

// profiles is THE table of built-in profiles.
var profiles = []Profile{
	{
		Name:  "lvds",
		Title: "LVDS notebook panel, the usual order",
		Windows: append([]Window{
			{"T1", SupplyOn, SupplyUp, span(0.5, 10), "rise of the supply, 10 % to 90 %", memory + "; with T2 it makes the 60 ms of a " + chipset},
			{"T2", SupplyUp, DataOn, span(0, 50), "supply to data", memory + "; T1+T2 is 0 to 60 ms in a " + chipset},
			{"T5", DataOn, LightOn, atLeast(200), "data to backlight", chipset},
			{"T6", LightOff, DataOff, atLeast(200), "backlight off to data off; some panels ask for less",
				memory + "; a " + chipset + ", leaves it open"},
			{"T3", DataOff, SupplyOff, span(0, 50), "data off to supply off", chipset},
			{"T7", SupplyOff, SupplyDown, span(0, 10), "fall of the supply, 90 % to 10 %", memory},
			{"T4", SupplyDown, SupplyAgain, atLeast(400), "off time before the next start", chipset},
		}, lightWindows...),
		Notes: []string{"The panel's own data sheet goes before these numbers."},
	},
	{
		Name:  "edp",
		Title: "eDP panel, names of times as in eDP timing diagrams",
		Windows: append([]Window{
			{"T1", SupplyOn, SupplyUp, span(0.5, 10), "rise of the supply, 10 % to 90 %", "10 ms: " + edp13 + "; 0.5 ms: " + memory},
			{"T3", SupplyUp, HPDOn, span(0, 200), "supply to hot-plug high and AUX ready", kernel + ", hpd_absent is T3-max; " + edp13},
			{"T4", HPDOn, AUXOn, atLeast(0), "hot-plug to the first answer on AUX", memory},
			{"T5", AUXOn, LinkOn, atLeast(0), "link training; as long as the source takes", memory},
			{"T6", LinkOn, DataOn, atLeast(0), "trained and idle, until valid data", memory},
			{"T8", DataOn, LightOn, atLeast(50), "valid data to backlight; the panel shows the data after T7, 50 ms at " +
				"most", "T7: " + edp13 + ", which has no limit for T8 and uses T7"},
			{"T9", LightOff, DataOff, atLeast(0), "backlight off to end of valid data; some panels ask for 10 to 200 ms", edp13 + ", which has " +
				"no limit for T9; " + kernel + ", disable is T9-min"},
			{"T10", DataOff, SupplyOff, span(0, 500), "end of data to supply off", edp13},
			{"T11", SupplyOff, SupplyDown, span(0, 10), "fall of the supply, 90 % to 10 %", edp13 + ", T11+T12 as 10 + 500 ms"},
			{"T12", SupplyDown, SupplyAgain, atLeast(500), "off time before the next start", edp13 + "; " + kernel + ", unprepare is T12-min"},
		}, lightWindows...),
		Notes: []string{
			"T2 and T7 are times inside the panel (its own black picture, its first frame): no probe reaches them.",
			"The panel's own data sheet goes before these numbers: asked times from data to light run from 20 to 250 ms.",
		},
	},
}

// Names lists the built-in profiles.
func Names() []string {
	list := make([]string, len(profiles))
	for i, p := range profiles {
		list[i] = p.Name
	}
	return list
}

// Named returns a copy of a built-in profile.
func Named(name string) (Profile, bool) {
	for _, p := range profiles {
		if p.Name == name {
			p.Windows, p.Notes = slices.Clone(p.Windows), slices.Clone(p.Notes)
			return p, true
		}
	}
	return Profile{}, false
}
