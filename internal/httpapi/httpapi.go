// Package httpapi serves the contract over HTTP. Package wire reads its requests
// and writes its answers, and the core computes them. This package does the rest:
// routes, keys, problems, negotiation, validators, limits, logs and metrics.
//
// A request for the newest revision takes its snapshot once and never waits for
// a database; only those for older ones, drafts and uploads do.
// The router behind it is a matter of this package alone.
package httpapi

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"log/slog"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"
	"go.opentelemetry.io/otel/trace"
	"golang.org/x/time/rate"

	"midstroke/internal/catalog"
	"midstroke/internal/contract"
	"midstroke/internal/library"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
	"midstroke/internal/widget"
	"midstroke/internal/wire"
)

// Config is what a Handler is made of.
type Config struct {
	// Library holds the catalogues that are answered from. Required.
	Library *library.Library
	// Catalog is the name of the catalogue that needs no key. Defaults to "demo".
	Catalog string
	// Keys are those that let shops in. Nil where there are none.
	Keys *shop.Keyring
	// FindKey looks a key up by its hash where the truth is kept, for one that
	// Keys doesn't have yet. It gives nil where there is none. Nil where nobody
	// can be asked.
	FindKey func(ctx context.Context, hash [sha256.Size]byte) (*shop.Key, error)
	// StartWait is how long a request waits, just after a start, until it is known
	// which catalogues there are. Defaults to 5 s.
	StartWait time.Duration
	// Revisions gives where revisions are kept, nil while that is out of
	// reach. Nil where there is no such place.
	Revisions func() Revisions
	// Quotes gives where quotes are kept, nil while that is out of reach. Nil where
	// there is no such place.
	Quotes func() Quotes
	// Batches gives where files are kept that are answered in the background, nil while
	// that is out of reach. Nil where there is no such place.
	Batches func() Batches
	// BatchTime is how long the rows of a file are answered in the call. A file that takes
	// longer is answered in the background. Defaults to 10 s.
	BatchTime time.Duration
	// Stock gives where stock is kept, nil while that is out of reach. Nil where there is
	// no such place. Stocks are what is known of it in memory; nil for nothing.
	Stock  func() Stock
	Stocks *library.Stocks
	// Webhooks gives where webhooks are kept, nil while that is out of reach. Nil where
	// there is no such place. Receivers says where their events may be sent.
	Webhooks  func() Webhooks
	Receivers webhook.Policy
	// Quota limits what a shop may store by uploads.
	Quota shop.Quota
	// Confirmed tells when the database last said that the snapshot is the
	// newest, for the metrics; nil where nobody knows.
	Confirmed func() time.Time
	// Limits say how much callers may ask for.
	Limits Limits
	// Pace is how slowly an uploaded file may come.
	Pace Pace
	// Check logs how requests and answers differ from the contract. It makes an
	// answer many times slower. Nil where nobody wants to know.
	Check *contract.Checker
	// Tracer makes spans of requests and of the work for them. Nil for none.
	Tracer trace.TracerProvider
	// Collectors are shown at /metrics beside those of the handler.
	Collectors []prometheus.Collector
	// LostLines tells how many lines of the log were lost, for the metrics; nil
	// where nobody counts them.
	LostLines func() int64
	// Log takes one line a request and whatever goes wrong. Defaults to
	// slog.Default().
	Log *slog.Logger
	// LogOneIn is of how many requests that went well one is logged. Defaults to
	// 1: each of them.
	LogOneIn int
}

// Handler answers the whole contract. It is safe for concurrent use.
type Handler struct {
	catalog   string
	keys      *shop.Keyring
	library   *library.Library
	findKey   func(context.Context, [sha256.Size]byte) (*shop.Key, error)
	lookups   *rate.Limiter // of keys that aren't known
	startWait time.Duration
	pace      Pace
	store     func() Revisions
	// quoteStore gives where quotes are kept; see Config.Quotes.
	quoteStore func() Quotes
	stockStore func() Stock
	batchStore func() Batches
	batchTime  time.Duration
	stocks     *library.Stocks
	hookStore  func() Webhooks
	receivers  webhook.Policy
	quota      shop.Quota
	tracer     trace.Tracer // nil for none
	languages  []string     // that there are words in, the default first
	log        *slog.Logger
	logOneIn   uint32
	metrics    *metrics
	widget     *widget.Files
	limits     *limiter
	answers    *answers
	recent     *recent
	address    echo.IPExtractor
	router     *echo.Echo
	checked    http.Handler // the router, with the check of the contract where there is one
	pool       sync.Pool    // of *scratch
	draining   atomic.Bool
}

// New makes a Handler. It fails where c has no library, and where the
// widget's files, which are built in, can't be read.
func New(c Config) (*Handler, error) {
	if c.Library == nil {
		return nil, errors.New("httpapi: Config.Library is nil")
	}
	files, err := widget.Load()
	if err != nil {
		return nil, err
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.Catalog == "" {
		c.Catalog = "demo"
	}
	h := &Handler{
		catalog: c.Catalog, keys: c.Keys, library: c.Library, findKey: c.FindKey, lookups: rate.NewLimiter(keyLookups, keyLookups), store: c.Revisions, quoteStore: c.Quotes, stockStore: c.Stock, batchStore: c.Batches, batchTime: cmp.Or(c.BatchTime, usualBatchTime), stocks: c.Stocks, quota: c.Quota,
		hookStore: c.Webhooks, receivers: c.Receivers,
		startWait: cmp.Or(c.StartWait, 5*time.Second), pace: c.Pace,
		languages: note.Languages(), log: c.Log, logOneIn: uint32(max(1, c.LogOneIn)), widget: files,
		limits: newLimiter(c.Limits), answers: newAnswers(), recent: newRecent(), address: c.Limits.extractor(),
		pool: sync.Pool{New: func() any { return new(scratch) }},
	}
	h.metrics = newMetrics(&c, h.limits)
	h.pace.Window = cmp.Or(h.pace.Window, usualWindow)
	h.router = h.routes()
	h.checked = h.router
	if c.Check != nil {
		h.checked = c.Check.Around(h.router, h.log)
	}
	if c.Tracer != nil {
		h.tracer = c.Tracer.Tracer("midstroke")
		h.checked = traced(h.checked, c.Tracer)
	}
	return h, nil
}

// ServeHTTP implements http.Handler.
func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) { h.checked.ServeHTTP(w, r) }

// routes lists every path. A path is added to the contract first; a test
// holds the two against each other.
func (h *Handler) routes() *echo.Echo {
	e := echo.New()
	e.IPExtractor = h.address
	e.HTTPErrorHandler = func(error, echo.Context) {} // observe has told it
	e.Use(h.observe)

	// HEAD is what spreadsheets send before each GET.
	get := func(path string, handle echo.HandlerFunc) {
		e.GET(path, handle)
		e.HEAD(path, handle)
	}
	h.widgetRoutes(get)
	get("/docs", englishPage(referencePage))
	get("/docs/catalogue", h.translatedPage(cataloguePage))
	get("/docs/problems", h.translatedPage(problemsPage))
	get("/docs/codes", h.translatedPage(codesPage))
	get("/openapi.yaml", document(typeYAML, contractYAML))
	get("/openapi.json", document(typeJSON, contractJSON))
	get("/healthz", h.healthz)
	get("/readyz", h.readyz)
	get("/metrics", h.metricsPage)

	e.POST("/v1/fits", h.postFits)
	get("/v1/fits", h.getFits)
	e.POST("/v1/hardware", h.postHardware)
	e.POST("/v1/rates", h.postRates)
	e.POST("/v1/travel", h.postTravel)
	get("/v1/guide", h.getGuide)
	e.POST("/v1/batches", needs(shop.Server, h.postBatch))
	e.POST("/v1/batches/preview", needs(shop.Server, h.postPreview))
	e.POST("/v1/coverage", needs(shop.Server, h.postCoverage))
	get("/v1/coverage", needs(shop.Server, h.getCoverage))
	get("/v1/templates/vehicles.xlsx", h.getTemplate)
	partRoutes(h, get, partKind[catalog.Damper]{catalog.DamperTable(), (*catalog.Snapshot).Dampers, wire.Dampers()})
	partRoutes(h, get, partKind[mount.Sleeve]{catalog.SleeveTable(), (*catalog.Snapshot).Sleeves, wire.Sleeves()})
	partRoutes(h, get, partKind[mount.Spacer]{catalog.SpacerTable(), (*catalog.Snapshot).Spacers, wire.Spacers()})
	partRoutes(h, get, partKind[mount.Adapter]{catalog.AdapterTable(), (*catalog.Snapshot).Adapters, wire.Adapters()})

	get("/v1/catalogs", h.listCatalogs)
	const revisions = "/v1/catalogs/:name/revisions"
	e.POST(revisions, needs(shop.Admin, h.postRevision))
	get(revisions, needs(shop.Server, h.listRevisions))
	get(revisions+"/:number", needs(shop.Server, h.oneRevision))
	e.DELETE(revisions+"/:number", needs(shop.Admin, h.discardRevision))
	e.POST(revisions+"/:number/publish", needs(shop.Admin, h.publishRevision))
	e.POST(revisions+"/:number/rollback", needs(shop.Admin, h.rollBack))
	get(revisions+"/:number/changes/:other", needs(shop.Server, h.getChanges))
	e.POST(revisions+"/:number/changes/:other", needs(shop.Server, h.postChanges))
	get(revisions+"/:number/export", needs(shop.Server, h.exportRevision))
	h.quoteRoutes(e, get)
	h.stockRoutes(e, get)
	h.webhookRoutes(e, get)
	h.batchJobRoutes(e, get)
	return e
}
