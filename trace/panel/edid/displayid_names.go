package edid

import "fmt"

// productName names byte 3: the product type of DisplayID 1.x (VESA DisplayID
// 1.3, section 2.3), the primary use of 2.x.
func productName(version, product int) string {
	names := []string{
		"extension section", "test structure", "panel or transducer", "standalone display", "television",
		"repeater", "direct drive monitor",
	}
	if version >= 2 {
		names = []string{
			"extension section", "test structure", "generic display", "television", "desktop productivity",
			"desktop gaming", "presentation", "head mounted virtual reality", "head mounted augmented reality",
		}
	}
	if product < len(names) {
		return names[product]
	}
	return "reserved"
}

// displayIDName names the data blocks (VESA DisplayID 1.3 and 2.0).
func displayIDName(tag byte) string {
	names := map[byte]string{
		0x00: "product identification",
		0x01: "display parameters",
		0x02: "colour characteristics",
		0x03: "type I detailed timings",
		0x04: "type II detailed timings",
		0x05: "type III short timings",
		0x06: "type IV DMT timings",
		0x07: "VESA timing standards",
		0x08: "CTA timing standards",
		0x09: "video timing range limits",
		0x0A: "serial number",
		0x0B: "text",
		0x0C: "display device data",
		0x0D: "interface power sequencing",
		0x0E: "transfer characteristics",
		0x0F: "display interface",
		0x10: "stereo display interface",
		0x11: "type V short timings",
		0x12: "tiled display topology",
		0x13: "type VI detailed timings",
		0x20: "product identification",
		0x21: "display parameters",
		0x22: "type VII detailed timings",
		0x23: "type VIII enumerated timings",
		0x24: "type IX formula timings",
		0x25: "dynamic video timing range limits",
		0x26: "display interface features",
		0x27: "stereo display interface",
		0x28: "tiled display topology",
		0x29: "container identification",
		0x2A: "type X formula timings",
		0x2B: "adaptive sync",
		0x2C: "head mounted display",
		0x2D: "head mounted display layer",
		0x2E: "brightness and luminance range",
		0x7E: "vendor specific",
		0x7F: "vendor specific",
		0x81: "CTA-861 data blocks",
	}
	if name := names[tag]; name != "" {
		return name
	}
	return fmt.Sprintf("reserved (tag 0x%02X)", tag)
}
