//go:build tools

package dotwasm

// Never compiled: it keeps the module that graphviz.wasm comes from in go.mod,
// with its checksum in go.sum, without linking its init into the binary.
import _ "github.com/goccy/go-graphviz"
