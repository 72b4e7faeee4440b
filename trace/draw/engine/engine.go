// Package engine lays graphs out with the dot engine of Graphviz, inside this process.
//
//	out, err := engine.Layout(ctx, []byte("digraph { a -> b }"))
//
// The engine is the one of github.com/goccy/go-graphviz: Graphviz, compiled to WebAssembly, of which that library holds
// one instance a process. What follows from that is dealt with here: one layout at a time, and an instance that may be
// gone after an abort.
package engine

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-graphviz"
	"github.com/goccy/go-graphviz/cgraph"
	"github.com/goccy/go-graphviz/gvc"

	_ "example.org/walkback/trace/draw/engine/after" // keeps the library's cache in a safe place
)

// ErrGone is what Layout returns from the moment on when the engine has been damaged by an abort for good: it stopped
// its own process, or ran out of its stack. Only a new process has a new engine.
var ErrGone = errors.New("the layout engine broke and is gone until the program is started anew")

// errAborted stands for an abort inside the engine, of which the library loses the cause.
var errAborted = errors.New("the layout engine aborted")

// engine is the library's one instance.
type engine struct {
	turn chan struct{} // holds a token while a layout runs
	gvc  *gvc.Context  // nil before the first layout; a second one after an abort was seen to break what was left
	gone bool
}

var one = engine{turn: make(chan struct{}, 1)}

// Layout reads DOT source, runs the dot engine on it and returns the result in Graphviz's format json0. It may be called
// from several goroutines; they wait for each other. When ctx is cancelled, Layout returns at once, but the engine
// cannot be stopped and finishes behind its back. After an error that is not ErrGone the next graph may well succeed,
// and so may the same one: some aborts depend on what the engine did before.
func Layout(ctx context.Context, src []byte) ([]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	select {
	case one.turn <- struct{}{}:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	type answer struct {
		out []byte
		err error
	}
	done := make(chan answer, 1)
	go func() {
		defer func() { <-one.turn }()
		out, err := one.layout(ctx, src)
		done <- answer{out, err}
	}()
	select {
	case a := <-done:
		return a.out, a.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// layout runs one graph through the engine, and finds out what is left of the engine when that fails.
func (e *engine) layout(ctx context.Context, src []byte) ([]byte, error) {
	if e.gone {
		return nil, ErrGone
	}
	out, err := e.try(ctx, src)
	if err != nil && !e.alive(ctx) {
		e.gone = true
		return nil, fmt.Errorf("graphviz: %w (%w)", err, ErrGone)
	}
	if err != nil {
		return nil, fmt.Errorf("graphviz: %w", err)
	}
	return out, nil
}

// alive reports whether the engine still lays a small graph out as it should.
func (e *engine) alive(ctx context.Context) bool {
	out, err := e.try(ctx, []byte(`digraph { a [width=1 height=1 fixedsize=true] b [width=1 height=1 fixedsize=true] a -> b }`))
	return err == nil && bytes.Contains(out, []byte(`"bb": "0,0,72,180"`))
}

// try takes the library through one layout. Nothing is freed after an abort: the engine's own books may be wrong then.
func (e *engine) try(ctx context.Context, src []byte) (out []byte, err error) {
	defer func() {
		// The library trusts the engine's answers, which an abort may have left half written.
		if r := recover(); r != nil {
			err = errAborted
		}
	}()
	if e.gvc == nil {
		graphviz.SetFileSystem(embed.FS{}) // an empty one: the engine only computes
		if e.gvc, err = gvc.New(ctx); err != nil {
			return nil, fmt.Errorf("start: %w", err)
		}
	}
	graph, err := cgraph.ParseBytes(src)
	if err == nil && graph == nil {
		err = errors.New("no message")
	}
	if err != nil {
		return nil, fmt.Errorf("read the graph: %w", cleaned(err))
	}
	if err := e.gvc.Layout(ctx, graph, "dot"); err != nil {
		return nil, fmt.Errorf("lay the graph out: %w", cleaned(err))
	}
	// Version 0.2.10 loses the error of a call that ended in a trap. But Graphviz sets this attribute last.
	if graph.GetStr("bb") == "" {
		return nil, errAborted
	}
	var b bytes.Buffer
	if err := e.gvc.RenderData(ctx, graph, "json0", &b); err != nil {
		return nil, fmt.Errorf("write the layout: %w", cleaned(err))
	}
	if !bytes.HasSuffix(bytes.TrimSpace(b.Bytes()), []byte("}")) {
		return nil, errAborted
	}
	if err := errors.Join(e.gvc.FreeLayout(ctx, graph), graph.Close()); err != nil {
		return nil, fmt.Errorf("free the layout: %w", cleaned(err))
	}
	return b.Bytes(), nil
}

// cleaned leaves the runtime's stack trace, which names functions by number alone, out of an error.
func cleaned(err error) error {
	first, _, more := strings.Cut(strings.TrimSpace(err.Error()), "\n")
	if !more {
		return err
	}
	return errors.New(first)
}
