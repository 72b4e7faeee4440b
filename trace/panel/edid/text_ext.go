package edid

import (
	"fmt"
	"strings"

	"example.org/walkback/netlist"
)

func (p page) extension(x Extension) {
	p.heading(fmt.Sprintf("Block %d: %s (tag 0x%02X)", x.Block, x.Name, x.Tag), 1)
	if !x.ChecksumOK {
		p.rowAt(2, "", "WRONG CHECKSUM in this block")
	}
	switch {
	case x.CTA != nil:
		p.cta(x.CTA)
	case x.DisplayID != nil:
		p.displayID(x.DisplayID)
	case x.Map != nil:
		tags := make([]string, len(x.Map))
		for i, tag := range x.Map {
			tags[i] = extensionName(byte(tag))
		}
		p.rowAt(2, "map", strings.Join(tags, ", "))
	}
}

func (p page) cta(c *CTA) {
	p.rowAt(2, "version", fmt.Sprintf("%d, %s", c.Version, netlist.Count(c.NativeDTDs, "native detailed timing")))
	var takes []string
	for _, f := range []struct {
		on   bool
		name string
	}{{c.Underscan, "underscan"}, {c.Audio, "basic audio"}, {c.YCbCr444, "YCbCr 4:4:4"}, {c.YCbCr422, "YCbCr 4:2:2"}} {
		if f.on {
			takes = append(takes, f.name)
		}
	}
	if len(takes) > 0 {
		p.rowAt(2, "takes", strings.Join(takes, ", "))
	}
	p.ctaBlocks(c.Blocks)
	for _, t := range c.Timings {
		p.timing(t)
	}
}

func (p page) ctaBlocks(blocks []CTABlock) {
	for _, b := range blocks {
		p.rowAt(2, "data block", ctaBlockText(b))
		for _, t := range b.Timings {
			p.timing(t)
		}
	}
}

func ctaBlockText(b CTABlock) string {
	var parts []string
	for _, v := range b.VICs {
		text := fmt.Sprintf("VIC %d", v.Code)
		if v.Native {
			text += " (native)"
		}
		parts = append(parts, text)
	}
	for _, a := range b.Audio {
		parts = append(parts, fmt.Sprintf("%s with %s", a.Format, netlist.Count(a.Channels, "channel")))
	}
	parts = append(parts, b.Speakers...)
	parts = append(parts, b.Colorimetry...)
	if b.OUI != "" {
		parts = append(parts, "OUI "+b.OUI)
	}
	if h := b.HDR; h != nil {
		parts = append(parts, h.EOTFs...)
		if h.MaxLuminance > 0 {
			parts = append(parts, fmt.Sprintf("%.3f to %.0f cd/m2", h.MinLuminance, h.MaxLuminance))
		}
	}
	if len(parts) == 0 {
		return b.Name
	}
	return b.Name + ": " + strings.Join(parts, ", ")
}

func (p page) displayID(d *DisplayID) {
	p.rowAt(2, "version", fmt.Sprintf("%d.%d, %s", d.Version, d.Revision, d.Name))
	if !d.ChecksumOK {
		p.rowAt(2, "", "WRONG CHECKSUM of the DisplayID section")
	}
	for _, b := range d.Blocks {
		p.rowAt(2, "data block", displayIDBlockText(b))
		for _, t := range b.Timings {
			p.timing(t)
		}
		if b.Power != nil {
			p.power(*b.Power)
		}
		p.ctaBlocks(b.CTA)
	}
}

func displayIDBlockText(b DisplayIDBlock) string {
	switch {
	case b.Text != "":
		return b.Name + ": " + b.Text
	case b.Parameters != nil:
		d := b.Parameters
		size := fmt.Sprintf("%.1f x %.1f mm", d.WidthMM, d.HeightMM)
		if ones := 1<<16 - 1; le16(b.Data) == ones || le16(b.Data[2:]) == ones {
			size = notSensible
		}
		text := fmt.Sprintf("%s: %s, %d x %d pixels", b.Name, size, d.Width, d.Height)
		if d.BitsPerColour > 0 {
			text += fmt.Sprintf(", %d bits a colour", d.BitsPerColour)
		}
		return text
	}
	return b.Name
}

func (p page) power(s PowerSequence) {
	for _, r := range []struct {
		label string
		span  Span
		what  string
	}{
		{"T1", s.T1, "supply rises from 10 to 90 %"},
		{"T2", s.T2, "supply to signal"},
		{"T3", s.T3, "signal off to supply off"},
		{"T4", s.T4, "supply off before it comes again"},
		{"T5", s.T5, "signal to backlight"},
		{"T6", s.T6, "backlight off to signal off"},
	} {
		p.rowAt(4, r.label, fmt.Sprintf("%s: %s", r.what, r.span))
	}
}

// String is such as "0.5 to 10 ms" or "at least 500 ms".
func (s Span) String() string {
	if s.Max == 0 {
		return fmt.Sprintf("at least %.4g ms", s.Min*1e3)
	}
	return fmt.Sprintf("%.4g to %.4g ms", s.Min*1e3, s.Max*1e3)
}
