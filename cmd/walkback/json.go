package main

import (
	"io"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// problemsVersion is the version of the schema of check --json.
const problemsVersion = 1

type problemJSON struct {
	File     string `json:"file"`
	Line     int    `json:"line"`
	Column   int    `json:"column"`
	Severity string `json:"severity"`
	Code     string `json:"code"`
	Message  string `json:"message"`
	Expected string `json:"expected,omitempty"`
	Nearest  string `json:"nearest,omitempty"`
}

func problemsJSON(out io.Writer, problems []mistake.Mistake) error {
	list := make([]problemJSON, len(problems))
	for i, p := range problems {
		list[i] = problemJSON{p.File, p.Line, p.Column, p.Severity.String(), p.Code, p.Msg, p.Want, p.Near}
	}
	return say.JSON(out, struct {
		Format   string        `json:"format"`
		Version  int           `json:"version"`
		Problems []problemJSON `json:"problems"`
	}{"walkback.check", problemsVersion, list})
}
