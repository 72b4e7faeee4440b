package link

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// Fit is a panel on a board. Alive and Idle together are all lanes of the board,
// each once, in the order of the file, by their indexes.
type Fit struct {
	Kind     Kind
	Channels []Channel
	Alive    []int // that must be alive
	Idle     []int // that this panel leaves unused: quiet is right
	Unsure   []int // those of Alive that hang on something assumed: they may be quiet after all
	Problems []string
	Notes    []string
}

// OK reports whether the panel fits, as far as the board file shows.
func (f Fit) OK() bool { return len(f.Problems) == 0 }

// On lays what the panel asks for on the lanes of a board. Lanes that the names
// do not make clear are kept alive, as the board file asks, and are Unsure.
func (n Need) On(b *netlist.Board) Fit {
	w := &work{n: n, b: b, of: map[Kind][]Channel{}, alive: make([]bool, len(b.Lanes)), unsure: make([]bool, len(b.Lanes))}
	w.Channels = Channels(b)
	for _, c := range w.Channels {
		if c.Doubt == "" {
			w.of[c.Kind] = append(w.of[c.Kind], c)
		}
	}
	w.Kind = w.kind()
	for _, c := range w.Channels {
		if c.Doubt != "" {
			w.note("%s: %s.", c.title(b), c.Doubt)
			w.keep(c.all(), true)
		}
	}
	switch of := w.of[w.Kind]; {
	case w.Kind == Unknown:
		for _, c := range w.Channels {
			w.keep(c.all(), true)
		}
	case len(of) == 0:
		w.wrongLink()
	case w.Kind == LVDS:
		w.lvds(of)
	default:
		w.edp(of[0])
	}
	return w.fit()
}

// work is a Fit in the making.
type work struct {
	Fit
	n             Need
	b             *netlist.Board
	of            map[Kind][]Channel // those beyond doubt
	alive, unsure []bool             // by lane
}

func (w *work) fit() Fit {
	f := w.Fit
	for i, alive := range w.alive {
		if !alive {
			f.Idle = append(f.Idle, i)
			continue
		}
		f.Alive = append(f.Alive, i)
		if w.unsure[i] {
			f.Unsure = append(f.Unsure, i)
		}
	}
	return f
}

func (w *work) problem(format string, args ...any) {
	w.Problems = append(w.Problems, fmt.Sprintf(format, args...))
}

func (w *work) note(format string, args ...any) {
	w.Notes = append(w.Notes, fmt.Sprintf(format, args...))
}

func (w *work) keep(of []int, unsure bool) {
	for _, i := range of {
		w.alive[i] = true
		w.unsure[i] = w.unsure[i] || unsure
	}
}

// kind is the link of the panel; when nobody said, the one that the board has.
func (w *work) kind() Kind {
	switch {
	case w.n.Kind != Unknown:
		return w.n.Kind
	case len(w.of) == 1:
		kind := LVDS
		if len(w.of[LVDS]) == 0 {
			kind = EDP
		}
		w.note("The link of the panel is not known; the board has %s, so %[1]s is taken.", kind)
		return kind
	}
	w.note("The link of the panel is not known and the lanes of the board do not settle it. %s", settle("link", "lvds", "edp"))
	return Unknown
}

// wrongLink says that the board has no link of the panel's kind.
func (w *work) wrongLink() {
	switch {
	case len(w.b.Lanes) == 0:
		w.problem("The board file names no lanes: nothing can be said about its link.")
	case len(w.of) == 0:
		w.note("No channel of the board is clear, so nothing is said about the fit.")
	default:
		w.problem("This panel speaks %s, the board %s: it does not fit.", w.Kind, map[Kind]Kind{LVDS: EDP, EDP: LVDS}[w.Kind])
	}
}

// lvds uses the first channels of the board, and in each the lowest pairs.
func (w *work) lvds(of []Channel) {
	l := w.n.LVDS
	if l.Channels > len(of) {
		w.fewChannels(len(of))
	}
	used := of[:min(l.Channels, len(of))]
	for at, c := range used {
		unsure := l.ChannelsFrom == Assumed && at > 0
		wanted := min(l.Pairs, len(c.Data))
		w.keep([]int{c.Clock}, unsure)
		w.keep(c.Data[:wanted], unsure)
		if l.BitsFrom == Assumed {
			w.keep(c.Data[wanted:], true)
		}
	}
	w.depthFits(used)
	if l.ChannelsFrom == Assumed && len(of) >= l.Channels {
		half := l.Channels / 2
		w.note("A pixel clock of %s does not settle whether it is %s or %s: the panel's connector tells. %s",
			mega(w.n.Mode.Clock), count(half, "channel"), spell(l.Channels), settle("channels", half, l.Channels))
	}
}

// depthFits compares the pairs of the channels in use with the bits a pixel.
func (w *work) depthFits(used []Channel) {
	l := w.n.LVDS
	least := slices.MinFunc(used, func(x, y Channel) int { return len(x.Data) - len(y.Data) })
	has := len(least.Data)
	switch {
	case has < l.Pairs:
		missing := strings.Join([]string{"first", "second", "third", "fourth", "fifth"}[has:l.Pairs], " and ") + " pair is"
		if l.Pairs-has > 1 {
			missing = strings.TrimSuffix(missing, "is") + "are"
		}
		w.problem("%d bits a pixel want %s in each channel, %s has %s: the %s missing.",
			l.Bits, count(l.Pairs, "data pair"), least.title(w.b), spell(has), missing)
	case l.BitsFrom != Assumed:
	case has == l.Pairs:
		w.note("The depth of the panel is not known. With more than %d bits a pixel it would want a pair that the board has not.", l.Bits)
	default:
		w.note("The depth of the panel is not known. With %d bits a pixel, only the lowest %s of a channel are alive. %s",
			l.Bits, count(l.Pairs, "data pair"), settle("bits", []int{18, 24, 30}[:has-l.Pairs+1]...))
	}
}

func (w *work) fewChannels(has int) {
	l := w.n.LVDS
	doubtful := slices.ContainsFunc(w.Channels, func(c Channel) bool { return c.Doubt != "" })
	// A pixel clock between the limits may be built for fewer channels after all.
	if doubtful || l.ChannelsFrom == Assumed && w.n.Mode.Clock <= maxChannel*float64(has) {
		w.note("This panel asks for %s, and %s of the board is clear: look into the panel's data sheet and the board file.",
			count(l.Channels, "channel"), count(has, "channel"))
		return
	}
	w.problem("This panel asks for %s, the board has %s: it does not fit.", count(l.Channels, "channel"), spell(has))
}

// settle names what would settle a doubt, in the words that tell of a panel.
func settle[T any](key string, values ...T) string {
	words := make([]string, len(values))
	for i, v := range values {
		words[i] = fmt.Sprintf("%s=%v", key, v)
	}
	last := len(words) - 1
	return "Say " + strings.Join(words[:last], ", ") + " or " + words[last] + " to settle it."
}

// edp uses the lanes from the lowest on.
func (w *work) edp(c Channel) {
	e := w.n.EDP
	has := len(c.Data)
	use := min(e.Lanes, has)
	w.keep(c.Data[:use], false)
	switch {
	case !e.Fits:
		w.problem("The picture is over what can go through %s at %s; only compression (DSC) could help.",
			count(e.Lanes, "lane"), giga(e.Rate))
	case e.Lanes > has && e.LanesFrom == Given:
		w.problem("This panel asks for %s, the board has %s: it does not fit.", count(e.Lanes, "lane"), spell(has))
	case e.Lanes > has:
		w.fewLanes(has)
	case e.LanesFrom != Given && has > use:
		w.keep(c.Data[use:], true)
		w.note("The picture fits through %s at %s. Panel and picture chip settle how many they use when they train"+
			" the link, so %s may be quiet. %s", count(use, "lane"), giga(e.Rate), names(w.b, c.Data[use:]),
			settle("lanes", slices.DeleteFunc([]int{1, 2, 4}, func(n int) bool { return n > has })...))
	}
}

// fewLanes looks for a rate that makes up for lanes that the board has not.
func (w *work) fewLanes(has int) {
	lanes := min(has, 2) // a link has one, two or four
	e := w.n.EDP
	for _, bits := range e.depths {
		for _, r := range Rates() {
			if e.RateFrom == Given && r != e.Rate || !carry(w.n.Mode.Clock*float64(bits), r, lanes).Fits {
				continue
			}
			with := ""
			if bits != e.Bits {
				with = fmt.Sprintf(", with %d bits a pixel", bits)
			}
			w.note("With %s of the board the link must run at %s or faster%s.", count(lanes, "lane"), giga(r), with)
			return
		}
	}
	w.problem("This panel asks for more than the %s of the board carry at any rate: it does not fit.", count(lanes, "lane"))
}
