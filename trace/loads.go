package trace

import (
	"example.org/walkback/netlist"
)

// loads lists, for each net of the walk, what hangs on it and can spoil it. A
// part that the walk goes through is no load, and each load is listed once, at
// the first net it hangs on.
func (k *walker) loads() {
	walked := map[netlist.NetID]bool{}
	for i := range k.w.Steps {
		if s := &k.w.Steps[i]; s.Net != netlist.None {
			walked[s.Net] = true
		}
	}
	seen := map[netlist.NetID]bool{}
	for i := range k.w.Steps {
		s := &k.w.Steps[i]
		if s.Net == netlist.None || s.Proven || seen[s.Net] || k.clear[s.Net] || k.g.Board.Nets[s.Net].Ground {
			continue
		}
		seen[s.Net] = true
		s.Loads = k.loadsOn(s.Net, s.At, walked)
	}
}

// branch is a net that a load leads to.
type branch struct {
	net     netlist.NetID
	through netlist.PartID
}

// stiff is the largest series resistance in Ω behind which a short still pulls
// a rail down far enough to be mistaken for a fault of the rail itself.
const stiff = 100

// maxBranches bounds the nets that the search for loads of one net visits, so
// that a rail which feeds a whole board does not list the whole board.
const maxBranches = 256

// hanging calls f for every part from which a short would be felt at net n: on
// the net itself, and behind parts that conduct. It does not go on into nets
// for which stop is true.
func (k *walker) hanging(n netlist.NetID, q netlist.Quantity, stop func(netlist.NetID) bool,
	f func(p netlist.PartID, here netlist.Conn, at branch, far netlist.NetID)) {
	b := k.g.Board
	visited := map[netlist.NetID]bool{n: true}
	queue := []branch{{n, netlist.None}}
	for len(queue) > 0 && len(visited) < maxBranches {
		at := queue[0]
		queue = queue[1:]
		for _, t := range b.Taps(at.net) {
			p := &b.Parts[t.Part]
			if p.Kind.Form == netlist.SingleForm {
				continue
			}
			here := p.Conns[t.Conn]
			far, leads := k.beyond(p, here, q)
			leads = leads && (!k.apart || !p.Kind.Plugs)
			f(t.Part, here, at, far)
			if leads && !visited[far] && !stop(far) {
				visited[far] = true
				queue = append(queue, branch{far, t.Part})
			}
		}
	}
}

func (k *walker) loadsOn(n netlist.NetID, q netlist.Quantity, walked map[netlist.NetID]bool) []LoadRef {
	b := k.g.Board
	var list []LoadRef
	k.hanging(n, q, func(far netlist.NetID) bool { return walked[far] || k.clear[far] },
		func(id netlist.PartID, here netlist.Conn, at branch, far netlist.NetID) {
			if k.partAt[id] != 0 || k.loaded[id] {
				return
			}
			k.loaded[id] = true
			p := &b.Parts[id]
			list = append(list, LoadRef{Part: id, Pin: pinOn(p, at.net, int(here.Channel)), How: loadText(b, p, here, q), Through: at.through,
				Far: far})
		})
	return list
}

// beyond returns the net to which a part leads on, if a short there would be
// felt here.
func (k *walker) beyond(p *netlist.Part, here netlist.Conn, q netlist.Quantity) (netlist.NetID, bool) {
	name := p.Pin(here).Name
	for i := range p.Kind.Passes {
		ps := &p.Kind.Passes[i]
		other := ps.B
		switch {
		case name == ps.A:
		case name == ps.B && !ps.OneWay:
			other = ps.A
		default:
			continue
		}
		if ps.AC && q != netlist.Toggling || p.Ohms(ps) > stiff || k.out && (ps.Control != "" || ps.OneWay) {
			continue
		}
		j := p.Kind.PinIndex(other)
		for _, c := range p.Conns {
			if int(c.Pin) == j && c.Channel == here.Channel && !k.g.Board.Grounded(c.Net) {
				return c.Net, true
			}
		}
	}
	return netlist.None, false
}

// loadText says how a part can spoil a net.
func loadText(b *netlist.Board, p *netlist.Part, here netlist.Conn, q netlist.Quantity) string {
	pin := p.Pin(here)
	for _, c := range p.Conns {
		if c.Channel != here.Channel || c.Pin == here.Pin || p.Kind.Form == netlist.NamedForm {
			continue
		}
		far := &b.Nets[c.Net]
		switch {
		case p.Kind.ToGround != "" && b.Grounded(c.Net):
			return p.Kind.ToGround
		case b.Grounded(c.Net) && q != netlist.Low:
			return "shorted or leaky it pulls down to ground"
		case c.Pin < 2 && p.Kind.Form != netlist.NamedForm:
			return "leads to " + far.Name
		}
	}
	if pin.Drag != "" {
		return pin.Drag
	}
	return "can hold it at a wrong level"
}
