package httpapi

import (
	"context"
	"log/slog"
	"net/http"

	"github.com/labstack/echo/v4"
	"go.opentelemetry.io/contrib/instrumentation/net/http/otelhttp"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/trace"
)

// traceContext reads and writes the header fields of W3C Trace Context.
var traceContext propagation.TraceContext

// traced makes a span of every request but those that machines send every few
// seconds. It goes on with the trace that a caller names in traceparent. observe
// gives the span its name, since only the router knows the route.
func traced(next http.Handler, by trace.TracerProvider) http.Handler {
	return otelhttp.NewHandler(next, "request",
		otelhttp.WithTracerProvider(by), otelhttp.WithPropagators(traceContext),
		otelhttp.WithFilter(func(r *http.Request) bool { return !quietRoute(r.URL.Path) }))
}

// tracedRoute names the span of a request.
func tracedRoute(c echo.Context, id string) {
	span := trace.SpanFromContext(c.Request().Context())
	if !span.IsRecording() {
		return
	}
	span.SetName(c.Request().Method + " " + c.Path())
	span.SetAttributes(attribute.String("http.route", c.Path()), attribute.String("midstroke.request_id", id))
}

// step makes a span of a part of the work. What it returns ends the span.
func (h *Handler) step(ctx context.Context, name string, attributes ...attribute.KeyValue) func() {
	if h.tracer == nil {
		return func() {}
	}
	_, span := h.tracer.Start(ctx, name, trace.WithAttributes(attributes...))
	return func() { span.End() }
}

// traceOf gives the trace that a request belongs to, for the log: the service's own
// span, or else what its caller says. It is an empty attribute, which the log leaves
// out, where there is none.
func traceOf(r *http.Request) slog.Attr {
	of := trace.SpanContextFromContext(r.Context())
	if !of.IsValid() && r.Header.Get("Traceparent") != "" {
		of = trace.SpanContextFromContext(traceContext.Extract(r.Context(), propagation.HeaderCarrier(r.Header)))
	}
	if !of.IsValid() {
		return slog.Attr{}
	}
	return slog.String("trace_id", of.TraceID().String())
}
