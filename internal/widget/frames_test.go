//go:build browser

package widget_test

import (
	"context"
	"encoding/json"
	"slices"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
)

// traced is an event of the browser's trace.
type traced struct {
	Name, Cat, Ph string
	Ts, Dur       float64 // in microseconds
}

// trace collects the events of the browser's own trace while something is done.
func (t *tab) trace(do func()) []traced {
	t.tb.Helper()
	var mu sync.Mutex
	var events []traced
	done := make(chan struct{})
	ctx, cancel := context.WithCancel(t.ctx)
	defer cancel()
	if err := chromedp.Listen(ctx, func(event any) {
		switch e := event.(type) {
		case *tracing.EventDataCollected:
			mu.Lock()
			defer mu.Unlock()
			for _, raw := range e.Value {
				var one traced
				if json.Unmarshal([]byte(raw), &one) == nil {
					events = append(events, one)
				}
			}
		case *tracing.EventTracingComplete:
			close(done)
		}
	}); err != nil {
		t.tb.Fatal(err)
	}
	t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{
			IncludedCategories: []string{"devtools.timeline", "disabled-by-default-devtools.timeline", "disabled-by-default-devtools.timeline.frame", "blink.user_timing"},
		}})
		return err
	}))
	do()
	t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, tracing.End, cdp.Empty{})
		return err
	}))
	<-done
	mu.Lock()
	defer mu.Unlock()
	return events
}

// BenchmarkFrames is the frames of the movement on a processor that the browser slows
// down four times, by its own trace. Beside it stands an empty page that moves one
// small box: what the browser can do at all on the machine.
func BenchmarkFrames(b *testing.B) {
	s := newService(b)
	for name, page := range map[string]struct{ url, seen, move string }{
		"axle": {s.URL + "/#" + encoded(studOverEye), "seen('[data-slider=travel]')", `q("[aria-labelledby=rear] [data-go=move]").click()`},
		"box": {"about:blank", "document.body", `
			const box = document.body.appendChild(document.createElement("div"));
			Object.assign(box.style, { width: "50px", height: "50px", background: "red" });
			const step = (now) => { box.style.transform = "translateX(" + now / 10 % 400 + "px)"; requestAnimationFrame(step); };
			requestAnimationFrame(step)`},
	} {
		b.Run(name, func(b *testing.B) {
			p := newTabAt(b, page.url)
			p.until(page.seen)
			p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
				_, err := cdp.Call(ctx, target, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
				return err
			}))
			for b.Loop() {
				events := p.trace(func() {
					eval[bool](p, `(async () => {
						`+page.move+`;
						performance.mark("moves");
						await new Promise((done) => setTimeout(done, 3400));
						performance.mark("moved");
						return true;
					})()`)
				})
				report(b, events)
			}
		})
	}
}

// report tells how many frames were drawn meanwhile, how long they took, and how often
// the page's own script ran, which writes the figures beside the drawing.
func report(b *testing.B, events []traced) {
	b.Helper()
	at := func(name string) float64 {
		i := slices.IndexFunc(events, func(e traced) bool { return e.Name == name && e.Cat == "blink.user_timing" })
		if i < 0 {
			b.Fatalf("the trace has no mark %s", name)
		}
		return events[i].Ts
	}
	from, to := at("moves"), at("moved")
	var frames, scripts []float64
	names := map[string]int{}
	for _, e := range events {
		if e.Ts < from || e.Ts > to {
			continue
		}
		names[e.Name]++
		switch e.Name {
		case "DrawFrame":
			frames = append(frames, e.Ts)
		case "FireAnimationFrame":
			scripts = append(scripts, e.Dur/1000)
		}
	}
	if len(frames) < 2 || len(scripts) == 0 {
		b.Fatalf("%d frames in the trace, which has %v", len(frames), names)
	}
	slices.Sort(frames)
	var gaps []float64
	for i := 1; i < len(frames); i++ {
		gaps = append(gaps, (frames[i]-frames[i-1])/1000)
	}
	slices.Sort(gaps)
	slices.Sort(scripts)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(len(frames)-1)/(frames[len(frames)-1]-frames[0])*1e6, "frames/s")
	b.ReportMetric(gaps[len(gaps)/2], "ms-frame")
	b.ReportMetric(gaps[len(gaps)*95/100], "ms-frame-p95")
	b.ReportMetric(scripts[len(scripts)/2], "ms-script")
	b.ReportMetric(float64(len(scripts))/(to-from)*1e6, "scripts/s")
	b.ReportMetric(float64(names["DroppedFrame"]), "dropped")
}
