package draw

import "example.org/walkback/trace/probe"

// points is the one number of a node, or none.
func points(n int) []int {
	if n == 0 {
		return nil
	}
	return []int{n}
}

// demo is a backlight path on an invented board, with one of everything: the
// picture to look at after a change.
func demo() Diagram {
	part := func(id string, detail ...string) Node { return Node{ID: id, Label: id, Detail: detail} }
	net := func(id, mark string, step int, detail ...string) Node {
		return Node{ID: id, Shape: Net, Label: id, Mark: mark, Points: points(step), Detail: detail}
	}
	with := func(n Node, f func(*Node)) Node { f(&n); return n }
	single := func(n Node) Node { n.Single = true; return n }
	faded := func(n Node) Node { n.Faded = true; return n }
	known := func(k Knowledge, n Node) Node { n.Knowledge = k; return n }
	d := Diagram{
		Title: "Larkspur 13: why is the picture dark?",
		Caption: "From the main rail to the LED strings, lid open, running. The reading at TP4 is wrong; what lies between TP2 and TP4 is " +
			"suspect.",
		Notes: probe.Brief(),
	}
	d.Nodes = []Node{
		with(single(net("VMAIN", "TP1", 1, "12.6 V ± 8 %")), func(n *Node) { n.Role = Source; n.Knowledge = ReadsRight }),
		known(Cleared, single(part("F3", "fuse, 3 A"))),
		known(ReadsRight, net("VBL_F", "TP2", 2, "12.6 V")),
		known(Suspect, single(part("Q5", "p-FET", "45 mΩ"))),
		net("VBL_SW", "TP3", 4, "12.5 V when on"),
		known(Suspect, single(part("L4", "coil, 110 mΩ"))),
		net("BL_LX", "", 0, "switching, 600 kHz"),
		known(Suspect, part("D6", "diode, 0.42 V")),
		known(ReadsWrong, single(net("VBL", "TP4", 3, "30.4…33.1 V"))),
		single(part("J3", "connector, pin 1")),
		net("LED_A", "", 0, "30.4 V"),
		part("LS1", "4 strings of 10", "3.0 V each"),
		{ID: "dark", Shape: Fact, Label: "picture dark", Detail: []string{"seen under a torch"}, Role: Symptom},
		known(Suspect, single(part("U9", "boost converter", "4 sinks"))),
		part("C41", "4.7 µF, 50 V"),
		part("C40", "10 µF, 25 V"),
		net("BL_EN", "TP5", 5, "3.3 V"),
		part("U4", "AND gate"),
		net("PNL_OK", "", 0, "3.3 V after training"),
		net("EC_BL", "TP6", 6, "3.3 V, lid open"),
		part("U2", "embedded controller"),
		part("U1", "graphics source"),
		{ID: "train", Shape: Fact, Label: "link trained", Detail: []string{"needs EDID and hot-plug"}},
		{ID: "lid", Shape: Fact, Label: "lid open"},
		net("BL_PWM", "TP7", 0, "200 Hz, 5…100 %"),
		part("R61", "resistor, 1 MΩ"),
		part("R62", "resistor, 39 kΩ"),
		net("BL_FB", "TP8", 7, "1.22 V"),
		net("BL_ON_N", "", 0, "0 V when on"),
		part("Q6", "n-FET, gate pull-down"),
		net("BL_K1..K4", "", 0, "0.4…0.8 V each"),
		part("R70", "sense, 0.1 Ω"),
		net("GND", "", 0, "0 V"),
		faded(net("V5P0", "", 0, "5.0 V")),
		faded(part("U7", "step-down converter")),
		faded(part("U5", "load switch")),
		faded(net("V3P3_PNL", "TP9", 0, "3.3 V")),
		faded(part("J3b", "connector, pins 12-13")),
		net("V3P3", "TP10", 8, "3.3 V"),
		part("U8", "regulator, 3.3 V"),
	}
	add := func(c Class, label string, ids ...string) {
		for i := 1; i < len(ids); i++ {
			d.Edges = append(d.Edges, Edge{From: ids[i-1], To: ids[i], Class: c, Label: label})
		}
	}
	add(Power, "", "VMAIN", "F3", "VBL_F", "Q5", "VBL_SW", "L4", "BL_LX", "D6", "VBL", "J3", "LED_A", "LS1", "dark")
	add(Power, "", "VBL_SW", "U9")
	add(Power, "", "U9", "BL_LX")
	add(Enable, "", "train", "U1", "PNL_OK", "U4", "BL_EN", "U9")
	add(Enable, "", "lid", "U2", "EC_BL", "U4")
	add(Enable, "", "BL_EN", "Q6", "BL_ON_N")
	add(Enable, "gate", "BL_ON_N", "Q5")
	add(Data, "dimming", "U2", "BL_PWM", "U9")
	add(Load, "", "VBL", "C41")
	add(Load, "", "VBL_F", "C40")
	add(Return, "", "LS1", "BL_K1..K4")
	d.Edges = append(d.Edges, Edge{From: "BL_K1..K4", To: "U9", Class: Sense, Loop: true, Label: "sink current"})
	add(Sense, "", "VBL", "R61", "BL_FB")
	add(Return, "", "BL_FB", "R62", "GND")
	d.Edges = append(d.Edges, Edge{From: "BL_FB", To: "U9", Class: Sense, Loop: true, Label: "feedback"})
	add(Return, "", "U9", "R70", "GND")
	for _, e := range [][2]string{{"VMAIN", "U7"}, {"U7", "V5P0"}, {"V5P0", "U5"}, {"U5", "V3P3_PNL"}, {"V3P3_PNL", "J3b"}} {
		d.Edges = append(d.Edges, Edge{From: e[0], To: e[1], Class: Power, Faded: true})
	}
	add(Power, "", "VMAIN", "U8", "V3P3", "U4")
	add(Power, "", "V3P3", "U2")
	return d
}
