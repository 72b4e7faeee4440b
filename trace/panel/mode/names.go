package mode

import (
	"slices"
	"strings"
)

// sizeOf is the size that a mode's first words mean by name, such as 1920x1080 for
// 1080p or FHD; "" for anything else. Such a name is refused, since makers do not all
// mean the same by it, but the size helps to write what is meant. The names are
// common practice, no source.
func sizeOf(ts []token) string {
	name := strings.ToLower(ts[0].text)
	if ts[0].kind == number {
		if ts[1].kind != word {
			return ""
		}
		if unit := strings.ToLower(ts[1].text); unit != "i" {
			name += unit
		} else {
			name += "p" // 1080i has the size of 1080p
		}
		ts = ts[1:]
	}
	if next := ts[1:]; len(next) > 0 && next[0].text == "+" && !next[0].spaced {
		name += "+"
	}
	for _, s := range []struct{ names, size string }{
		{"xga", "1024x768"}, {"sxga", "1280x1024"}, {"sxga+", "1400x1050"}, {"uxga", "1600x1200"},
		{"720p", "1280x720"}, {"wxga 800p", "1280x800"}, {"hd 768p", "1366x768"}, {"wxga+", "1440x900"},
		{"hd+ 900p", "1600x900"}, {"wsxga+ 1050p", "1680x1050"}, {"fhd 1080p", "1920x1080"},
		{"wuxga fhd+ 1200p", "1920x1200"}, {"qhd wqhd 1440p", "2560x1440"}, {"wqxga 1600p", "2560x1600"},
		{"qhd+ 1800p", "3200x1800"}, {"uhd 4k 2160p", "3840x2160"},
	} {
		if slices.Contains(strings.Fields(s.names), name) {
			return s.size
		}
	}
	return ""
}
