package trace

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// sequence tells a walk as kind:name words, each element once, in order.
func (w *Walk) sequence() string {
	var words []string
	seen := map[string]bool{}
	for i := range w.Steps {
		s := &w.Steps[i]
		word := w.kindWord(s) + ":" + s.Name
		if s.Kind == StateStep {
			word = "state:" + strings.ReplaceAll(s.Name, " ", "_")
		}
		if !seen[word] && !s.Held {
			seen[word] = true
			words = append(words, word)
		}
	}
	return strings.Join(words, " ")
}

var wholeWalks = []struct{ board, name, line, want string }{
	{"larkspur13", "no rail", "V3_PNL=0V", ``},
	{"larkspur13", "no rail, identity read", "V3_PNL=0V EDID=read", ``},
	{"larkspur13", "low rail", "VBL=12.2V PICTURE=seen", ``},
	{"larkspur13", "no clock on a lane", "A.CLK=quiet EDID=read V3_PNL=ok", ``},
	{"siskin15", "missing data on a lane", "B.2=quiet PICTURE=seen", ``},
	{"larkspur13", "identity unread", "EDID=unread V3_RUN=ok V1_RUN=ok", ``},
	{"larkspur13", "no backlight", "LIGHT=no VBL=ok PICTURE=seen", ``},
	{"teasel14", "no hot-plug", "HPD=low V3_RUN=ok", ``},
	{"teasel14", "AUX silent", "AUX=dead HPD=ok", ``},
}

func TestPrintWalks(t *testing.T) {
	for _, c := range wholeWalks {
		t.Run(c.board+" "+c.name, func(t *testing.T) {
			w := walkOf(t, demo(t, c.board), c.line)
			if diff := cmp.Diff(strings.Fields(c.want), strings.Fields(w.sequence())); diff != "" {
				t.Errorf("%s", w.sequence())
			}
		})
	}
}
