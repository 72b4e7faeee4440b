// Package after puts the environment back that package before has moved, as soon as the layout library is initialised.
// Whatever lays graphs out imports it for that.
package after

import (
	"example.org/walkback/trace/draw/engine/before"

	_ "github.com/goccy/go-graphviz/cgraph" // the least part of the library that initialises its engine
)

func init() { before.Done() }
