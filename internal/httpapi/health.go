package httpapi

import (
	"encoding/json"

	"github.com/labstack/echo/v4"
)

// healthz says that the process is up, whatever else may be wrong.
func (h *Handler) healthz(c echo.Context) error {
	return send(c, representation{contentType: typeJSON, cache: "no-store", body: []byte("{\"alive\":true}\n")})
}

// readyz says whether requests should be sent here: any shop's request is
// answered then, if need be after its catalogue has been loaded. An instance that has lost
// its database can still answer from the snapshot that it holds, so it stays
// ready and says that it is stale.
func (h *Handler) readyz(c echo.Context) error {
	if h.draining.Load() {
		return stoppingProblem()
	}
	if !h.library.Ready() {
		return h.noSnapshot()
	}
	type held struct {
		Name     string `json:"name"`
		Revision int    `json:"revision"`
	}
	newest, _ := h.library.Find(h.catalog)
	body, err := json.Marshal(struct {
		Ready   bool `json:"ready"`
		Stale   bool `json:"stale"`
		Catalog held `json:"catalog"`
	}{true, h.library.Stale(), held{h.catalog, newest.Revision}})
	if err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, cache: "no-store", body: append(body, '\n')})
}

// stoppingProblem is the problem of the time before the end.
func stoppingProblem() *problem {
	return newProblem(notReady, stopping).with("Retry-After", "5")
}

// noSnapshot is the problem of the time before the first snapshot.
func (h *Handler) noSnapshot() *problem {
	return newProblem(notReady, loadingCatalog).with("Retry-After", "1")
}
