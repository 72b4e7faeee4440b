package draw

import (
	"context"
	"errors"
	"strings"
	"testing"

	"example.org/walkback/trace/draw/engine"
)

func TestSecondTryIsSimplerAndTheLast(t *testing.T) {
	abort, other := errors.New("aborted"), errors.New("aborted again")
	gone := errors.Join(abort, engine.ErrGone)
	for _, tt := range []struct {
		name      string
		first     error
		second    error
		calls     string
		wantError string
	}{
		{"all well", nil, nil, "full", ""},
		{"first aborts", abort, nil, "full simple", ""},
		{"both abort", abort, other, "full simple", "aborted; once more, without ports: aborted again"},
		{"the engine is gone", gone, nil, "full", "a picture of less may succeed"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var calls []string
			run := func(_ context.Context, src []byte) ([]byte, error) {
				calls = append(calls, string(src))
				err := tt.first
				if len(calls) == 2 {
					err = tt.second
				}
				if err != nil {
					return nil, err
				}
				return src, nil
			}
			out, err := twice(t.Context(), run, []byte("full"), []byte("simple"))
			if got := strings.Join(calls, " "); got != tt.calls {
				t.Errorf("laid out %s, want %s", got, tt.calls)
			}
			if tt.wantError == "" {
				if err != nil || string(out) != calls[len(calls)-1] {
					t.Errorf("%q, %v", out, err)
				}
			} else if err == nil || !strings.Contains(err.Error(), tt.wantError) {
				t.Errorf("%v, want %s", err, tt.wantError)
			}
		})
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	n := 0
	_, err := twice(ctx, func(ctx context.Context, _ []byte) ([]byte, error) { n++; return nil, ctx.Err() }, nil, nil)
	if n != 1 || !errors.Is(err, context.Canceled) {
		t.Errorf("%d tries after a cancellation, %v", n, err)
	}
}
