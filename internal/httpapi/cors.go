package httpapi

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"
)

// Any page may read what anyone may read without a key: answers on the demo
// catalogue, the contract itself and the web component. What a key opens, the
// pages of its origins alone may read, which shows in the answer
// (fromItsOrigin) and not in the one to the browser's question before it, since
// that comes without the key. No credentials of the browser's own are let
// through.
const (
	corsMethods = "GET, HEAD, POST"
	corsRequest = "Accept, Accept-Language, Authorization, Content-Type, Idempotency-Key, If-None-Match, X-Request-Id"
	corsExposed = "ETag, Link, X-Request-Id, Retry-After, RateLimit, RateLimit-Policy"
	corsMaxAge  = "7200" // seconds; no browser keeps a preflight for longer
)

// shareAcrossOrigins lets pages of other origins read the answer, and answers
// what a browser asks before it sends a request of theirs.
func shareAcrossOrigins(c echo.Context) {
	r := c.Request()
	if r.Header.Get("Origin") == "" || !sharedRoute(c.Path()) {
		return
	}
	h := c.Response().Header()
	h.Set("Access-Control-Allow-Origin", "*")
	if r.Method != http.MethodOptions {
		h.Set("Access-Control-Expose-Headers", corsExposed)
		return
	}
	h.Set("Vary", "Origin, Access-Control-Request-Method, Access-Control-Request-Headers")
	if r.Header.Get("Access-Control-Request-Method") != "" {
		h.Set("Access-Control-Allow-Methods", corsMethods)
		h.Set("Access-Control-Allow-Headers", corsRequest)
		h.Set("Access-Control-Max-Age", corsMaxAge)
	}
}

func sharedRoute(route string) bool {
	return strings.HasPrefix(route, "/v1/") || strings.HasPrefix(route, "/openapi.") || strings.HasPrefix(route, "/widget/")
}
