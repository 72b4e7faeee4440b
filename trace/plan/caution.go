package plan

// The states of the board for cold checks.
const (
	coldState    = "all power and battery out, capacitors discharged, panel unplugged"
	contactState = "all power and battery out, capacitors discharged, cable plugged into the board"
)

// The cautions, each printed with the steps it concerns.
const (
	cautionCold   = "all power and battery out; volts on the point first, under 50 mV, only then ohms or diode mode"
	cautionCable  = "never plug or unplug the panel cable with adapter or battery connected"
	cautionFast   = "the probe loads a fast line: a picture that changes while you probe is no fault by itself"
	cautionBurst  = "alive only while something is read: set the scope to catch one burst, then start the board"
	cautionLow    = "0 V proves nothing while what pulls the line up is missing"
	cautionSwitch = "a switch node: short ground lead, and no meter lead that can touch its neighbours"
	cautionFuse   = "A fuse opens because of something: it is not the cause before the short behind it was sought"
)

// generalCautions are those of the whole checklist. The limit of ES1 is from
// memory: IEC 62368-1.
func generalCautions(probes []Probe) []string {
	list := []string{
		"ESD strap on, board on a mat. A swollen cell goes out of the building before any work.",
		"After liquid: clean and dry first, cold checks next, power last and from a current-limited supply.",
		"Do not plug in a known-good panel before the cold checks have passed.",
		"Above 60 V DC a rail leaves the class ES1 of IEC 62368-1 and can hurt you; below it can still destroy the board.",
		"Local codes and licensed practice come first.",
	}
	for _, p := range probes {
		if p.Method.Cold() {
			return append([]string{"Cold checks: adapter and battery out, power button held for 10 s, capacitors discharged; volts on each point first: under 50 mV, only then ohms or diode mode."}, list...)
		}
	}
	return list
}
