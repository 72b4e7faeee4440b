// Package dotwasm lays graphs out with the dot engine, run inside this process as WebAssembly.
//
//	out, err := dotwasm.Layout(ctx, []byte("digraph { a -> b }"), "json0")
//
// graphviz.wasm is the Graphviz 12.1.2 that github.com/goccy/go-graphviz v0.2.10
// ships, byte for byte. That module's Go side is not linked in: it loads the
// engine in a package init, which costs every command of the binary about
// 75 ms, and it keeps the compiled machine code in a predictable folder below
// the temporary directory, where another local user may have planted it first.
// Here nothing is loaded before the first Layout, and the compiled code is kept
// in a private folder of the user (see cachedir.go).
package dotwasm

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

//go:generate sh -c "cp $(go list -m -f '{{.Dir}}' github.com/goccy/go-graphviz)/internal/wasm/graphviz.wasm . && chmod 644 graphviz.wasm"

//go:embed graphviz.wasm
var graphvizWASM []byte

// engine is the compiled module; every layout runs in an instance of its own,
// so that neither a trap nor the state one graph leaves behind reaches the next.
type engine struct {
	runtime  wazero.Runtime
	compiled wazero.CompiledModule
}

// maxPages bounds the engine's memory to 1 GiB (pages of 64 KiB): a graph that
// needs more is refused instead of starving the machine.
const maxPages = 16384

// load compiles the engine once a process; a failed attempt is not repeated,
// since none of its causes goes away by itself.
var load = sync.OnceValues(func() (*engine, error) {
	if dir, err := cacheDir(); err == nil {
		if cache, err := wazero.NewCompilationCacheWithDir(dir); err == nil {
			if eng, err := compile(wazero.NewRuntimeConfig().WithCompilationCache(cache)); err == nil {
				return eng, nil
			}
			// A damaged or unwritable cache must not stand in the way now,
			// nor the next time. The folder is ours alone.
			_ = os.RemoveAll(dir)
		}
	}
	return compile(wazero.NewRuntimeConfig())
})

func compile(cfg wazero.RuntimeConfig) (*engine, error) {
	ctx := context.Background()
	r := wazero.NewRuntimeWithConfig(ctx, cfg.WithMemoryLimitPages(maxPages).WithCloseOnContextDone(true))
	compiled, err := r.CompileModule(ctx, graphvizWASM)
	if err != nil {
		return nil, errors.Join(err, r.Close(ctx))
	}
	if err := hostModules(ctx, r, compiled); err != nil {
		return nil, errors.Join(err, r.Close(ctx))
	}
	return &engine{r, compiled}, nil
}

// hostModules supplies what the engine imports. The "env" functions are hooks
// for plugins written in Go; none is registered here, so none is ever called.
func hostModules(ctx context.Context, r wazero.Runtime, m wazero.CompiledModule) error {
	if _, err := wasi_snapshot_preview1.Instantiate(ctx, r); err != nil {
		return err
	}
	env := r.NewHostModuleBuilder("env")
	for _, f := range m.ImportedFunctions() {
		module, name, _ := f.Import()
		if module != "env" {
			continue
		}
		unused := func(context.Context, api.Module, []uint64) {
			panic(fmt.Errorf("graphviz called the plugin hook %s", name))
		}
		env = env.NewFunctionBuilder().
			WithGoModuleFunction(api.GoModuleFunc(unused), f.ParamTypes(), f.ResultTypes()).
			Export(name)
	}
	_, err := env.Instantiate(ctx)
	return err
}

// Layout reads DOT source, runs the dot engine on it and returns the result in
// one of Graphviz's text formats, such as "json0" or "plain". It may be called
// from several goroutines at once; cancelling ctx stops the engine.
func Layout(ctx context.Context, src []byte, format string) ([]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	eng, err := load()
	if err != nil {
		return nil, fmt.Errorf("load graphviz: %w", err)
	}
	// No file system, no environment, no clock: the engine only computes.
	mod, err := eng.runtime.InstantiateModule(ctx, eng.compiled,
		wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return nil, fmt.Errorf("start graphviz: %w", contextFirst(ctx, err))
	}
	defer mod.Close(context.WithoutCancel(ctx))
	in := &instance{ctx: ctx, mod: mod}
	out := in.layout(src, format)
	if in.err != nil {
		return nil, fmt.Errorf("graphviz: %w", contextFirst(ctx, in.err))
	}
	return out, nil
}

// contextFirst reports a cancelled context as such; wazero reports it as an
// exit code of the module.
func contextFirst(ctx context.Context, err error) error {
	if cause := ctx.Err(); cause != nil {
		return cause
	}
	return err
}
