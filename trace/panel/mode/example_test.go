package mode_test

import (
	"fmt"

	"example.org/walkback/trace/panel/mode"
)

func ExampleParse() {
	m, err := mode.Parse("1366x768@60")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m)
	fmt.Println(m.Timings())
	fmt.Println(m.Origin)
	// Output:
	// 1366x768 at 60.00 Hz
	// 72 MHz 1366+14+56+64 768+1+3+28 +hsync +vsync
	// DMT 1.13, id 56h
}

func ExampleParse_wrong() {
	_, err := mode.Parse("1920x1080@60 rbb")
	fmt.Println(err)
	// Output:
	// 1920x1080@60 rbb: read "rbb"; did you mean "rb"?
}
