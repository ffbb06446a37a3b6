package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	"go.opentelemetry.io/otel/exporters/stdout/stdouttrace"
	"go.opentelemetry.io/otel/sdk/resource"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
)

// tracing makes spans and sends them to where OpenTelemetry's environment variables
// say. It is nil unless one of them asks for it. The exporter reads further ones:
// OTEL_EXPORTER_OTLP_HEADERS, OTEL_TRACES_SAMPLER and others.
func tracing(ctx context.Context, console io.Writer) (*sdktrace.TracerProvider, error) {
	exporter, err := spanExporter(ctx, console)
	if exporter == nil || err != nil {
		return nil, err
	}
	// Later ones win, so OTEL_SERVICE_NAME does.
	about, err := resource.New(ctx, resource.WithTelemetrySDK(), resource.WithAttributes(serviceName.String("midstroke")), resource.WithFromEnv())
	if err != nil && !errors.Is(err, resource.ErrPartialResource) {
		return nil, fmt.Errorf("tracing: %w", err)
	}
	return sdktrace.NewTracerProvider(sdktrace.WithBatcher(exporter), sdktrace.WithResource(about)), nil
}

const serviceName = attribute.Key("service.name")

// spanExporter gives what spans are sent by, nil for none.
func spanExporter(ctx context.Context, console io.Writer) (sdktrace.SpanExporter, error) {
	if off, _ := strconv.ParseBool(os.Getenv("OTEL_SDK_DISABLED")); off {
		return nil, nil
	}
	name := os.Getenv("OTEL_TRACES_EXPORTER")
	if name == "" && (os.Getenv("OTEL_EXPORTER_OTLP_ENDPOINT") != "" || os.Getenv("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT") != "") {
		name = "otlp"
	}
	switch name {
	case "", "none":
		return nil, nil
	case "otlp":
		exporter, err := otlptracehttp.New(ctx)
		if err != nil {
			return nil, fmt.Errorf("tracing: %w", err)
		}
		return exporter, nil
	case "console":
		return stdouttrace.New(stdouttrace.WithWriter(console))
	}
	return nil, fmt.Errorf("OTEL_TRACES_EXPORTER: %q is not known: otlp, console and none are", name)
}

// tracingEnd is how long the last spans may take to be sent.
const tracingEnd = 2 * time.Second

// endTracing sends the last spans.
func endTracing(by *sdktrace.TracerProvider) error {
	if by == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), tracingEnd)
	defer cancel()
	return by.Shutdown(ctx)
}
