package dotwasm

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"github.com/tetratelabs/wazero/api"
)

// instance is one running engine. The first error sticks and turns every later
// step into a no-op, which keeps the sequence of C calls readable.
type instance struct {
	ctx context.Context
	mod api.Module
	err error
}

// agMaxErrors is AGMAX of Graphviz's cgraph.h: report nothing on standard error.
const agMaxErrors = 3

// layout is the usual sequence of a C program that uses Graphviz as a library.
// Nothing is freed: the instance and its whole memory go away with the call.
func (in *instance) layout(src []byte, format string) []byte {
	in.call("agseterr", agMaxErrors)
	gvc := in.call("gvContextPlugins", in.plugins(), 0)
	graph := in.call("agmemread", in.cstring(src))
	if in.err == nil && graph == 0 {
		in.err = fmt.Errorf("read the graph: %s", in.lastError())
	}
	if rc := in.call("gvLayout", gvc, graph, in.cstring([]byte("dot"))); in.err == nil && rc != 0 {
		in.err = fmt.Errorf("lay the graph out: %s", in.lastError())
	}
	data, length := in.alloc(4), in.alloc(4)
	rc := in.call("gvRenderData", gvc, graph, in.cstring([]byte(format)), data, length)
	if in.err == nil && rc != 0 {
		in.err = fmt.Errorf("render as %s: %s", format, in.lastError())
	}
	return in.read(in.word(data), in.word(length))
}

// plugins builds the table of built-in plugins, two words an entry and a zero
// entry at its end. SymList_default lists them (its slice has eight bytes an
// element), but leaves the end unmarked.
func (in *instance) plugins() uint64 {
	ret := in.alloc(4)
	in.call("wasm_bridge_SymList_default", ret)
	slice := in.word(ret)
	n, elems := in.word(slice), in.word(slice+4)
	table := in.alloc(8 * (n + 1))
	for i := range n {
		entry := in.word(elems + 8*i)
		in.setWord(table+8*i, in.word(entry))
		in.setWord(table+8*i+4, in.word(entry+4))
	}
	in.setWord(table+8*n, 0)
	in.setWord(table+8*n+4, 0)
	return table
}

func (in *instance) call(name string, args ...uint64) uint64 {
	if in.err != nil {
		return 0
	}
	f := in.mod.ExportedFunction(name)
	if f == nil {
		in.err = fmt.Errorf("no function %s in the engine", name)
		return 0
	}
	ret, err := f.Call(in.ctx, args...)
	if err != nil {
		in.err = fmt.Errorf("%s: %w", name, err)
		return 0
	}
	if len(ret) == 0 {
		return 0
	}
	// Pointers and ints are 32 bits wide here.
	return uint64(uint32(ret[0]))
}

func (in *instance) alloc(size uint64) uint64 {
	p := in.call("malloc", size)
	if in.err == nil && p == 0 {
		in.err = errors.New("the graph needs more memory than is allowed")
	}
	return p
}

func (in *instance) cstring(s []byte) uint64 {
	p := in.alloc(uint64(len(s)) + 1)
	if in.err == nil && !in.mod.Memory().Write(uint32(p), append(bytes.Clone(s), 0)) {
		in.err = errMemory
	}
	return p
}

var errMemory = errors.New("address outside the engine's memory")

func (in *instance) word(p uint64) uint64 {
	if in.err != nil {
		return 0
	}
	v, ok := in.mod.Memory().ReadUint32Le(uint32(p))
	if !ok {
		in.err = errMemory
	}
	return uint64(v)
}

func (in *instance) setWord(p, v uint64) {
	if in.err == nil && !in.mod.Memory().WriteUint32Le(uint32(p), uint32(v)) {
		in.err = errMemory
	}
}

func (in *instance) read(p, n uint64) []byte {
	if in.err != nil {
		return nil
	}
	b, ok := in.mod.Memory().Read(uint32(p), uint32(n))
	if !ok {
		in.err = errMemory
	}
	return bytes.Clone(b)
}

// lastError is Graphviz's own message, cut to a sane length.
func (in *instance) lastError() string {
	p := in.call("aglasterr")
	if in.err != nil || p == 0 {
		return "no message"
	}
	const most = 300
	b, _ := in.mod.Memory().Read(uint32(p), most)
	if end := bytes.IndexByte(b, 0); end >= 0 {
		b = b[:end]
	}
	return string(bytes.TrimSpace(b))
}
