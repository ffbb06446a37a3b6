package httpapi

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
	"midstroke/internal/webhook"
	"midstroke/internal/wire"
)

// Webhooks are where a shop's webhooks are kept. Every method answers
// webhook.ErrNotFound for what isn't there or is another shop's, and
// shop.ErrUnreachable where nobody can tell just now.
type Webhooks interface {
	Webhooks(ctx context.Context, shopID int64) ([]webhook.Webhook, error)
	Webhook(ctx context.Context, shopID int64, id string) (webhook.Webhook, error)
	// AddWebhook gives webhook.ErrTooMany where the shop has as many as it may.
	AddWebhook(ctx context.Context, shopID int64, w *webhook.Webhook) error
	ChangeWebhook(ctx context.Context, shopID int64, id string, c *webhook.Change) (webhook.Webhook, error)
	// RenewSecret gives a webhook another secret. The former one stays good for a while.
	RenewSecret(ctx context.Context, shopID int64, id string, fresh webhook.Secret, while time.Duration) (webhook.Webhook, error)
	DeleteWebhook(ctx context.Context, shopID int64, id string) error
	Deliveries(ctx context.Context, shopID int64, id string, f webhook.Filter) ([]webhook.Delivery, error)
	Resend(ctx context.Context, shopID int64, id, delivery string) (webhook.Delivery, error)
}

// webhookRoutes adds the routes of webhooks.
func (h *Handler) webhookRoutes(e *echo.Echo, get func(path string, handle echo.HandlerFunc)) {
	const one = "/v1/webhooks/:webhook"
	get("/v1/webhooks", needs(shop.Admin, h.listWebhooks))
	e.POST("/v1/webhooks", needs(shop.Admin, h.addWebhook))
	get(one, needs(shop.Admin, h.getWebhook))
	e.PATCH(one, needs(shop.Admin, h.changeWebhook))
	e.DELETE(one, needs(shop.Admin, h.deleteWebhook))
	e.POST(one+"/secret", needs(shop.Admin, h.renewSecret))
	get(one+"/deliveries", needs(shop.Admin, h.listDeliveries))
	e.POST(one+"/deliveries/:delivery/resend", needs(shop.Admin, h.resendDelivery))
}

// webhooks gives the store, while there is one to be had.
func (h *Handler) webhooks() (Webhooks, error) {
	if h.hookStore != nil {
		if store := h.hookStore(); store != nil {
			return store, nil
		}
	}
	return nil, unreachableProblem(shop.ErrUnreachable)
}

// webhookOf gives the store and the name of the webhook of the path.
func (h *Handler) webhookOf(c echo.Context) (store Webhooks, id string, err error) {
	if id = pathText(c, "webhook"); !webhook.IsID(id) {
		return nil, id, newProblem(notFound, noSuchWebhook)
	}
	store, err = h.webhooks()
	return store, id, err
}

// webhookProblem makes a problem of an error of the store. missing is what isn't there.
func webhookProblem(err error, missing detail) error {
	switch {
	case errors.Is(err, webhook.ErrNotFound):
		return newProblem(notFound, missing)
	case errors.Is(err, webhook.ErrTooMany):
		return newProblem(quotaReached, quotaOfWebhooks, count("most", webhook.MostOfShop))
	}
	return quoteProblem(err)
}

// may gives a problem where events may not be sent to a URL.
func (h *Handler) may(url string) error {
	if code := h.receivers.Check(url); code != "" {
		var faults fault.List
		faults.Add("/url", code)
		return refusal(faults, unit.Unset)
	}
	return nil
}

// listWebhooks answers GET /v1/webhooks.
func (h *Handler) listWebhooks(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, err := h.webhooks()
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	list, err := store.Webhooks(ctx, callerOf(c).key.ShopID)
	if err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, cache: cachePrivate, body: wire.AppendWebhooks(nil, list)})
}

// addWebhook answers POST /v1/webhooks.
func (h *Handler) addWebhook(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	w, err := wire.ReadWebhook(s.in.Bytes())
	if err != nil {
		return err
	}
	if err := h.may(w.URL); err != nil {
		return err
	}
	store, err := h.webhooks()
	if err != nil {
		return err
	}
	key := callerOf(c).key
	w.ID, w.Secret, w.Created, w.CreatedBy = webhook.NewID(), webhook.NewSecret(), quote.Moment(time.Now()), key.Prefix
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	if err := store.AddWebhook(ctx, key.ShopID, w); err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	return sendAnswer(c, &shop.Answer{Status: http.StatusCreated, Body: wire.AppendNewWebhook(nil, w), Header: map[string]string{
		"Cache-Control": "no-store", "Content-Type": typeJSON, "Vary": varyAnswer, "Location": "/v1/webhooks/" + w.ID,
	}})
}

// getWebhook answers GET /v1/webhooks/{webhook}.
func (h *Handler) getWebhook(c echo.Context) error {
	return h.withWebhook(c, Webhooks.Webhook)
}

// changeWebhook answers PATCH /v1/webhooks/{webhook}.
func (h *Handler) changeWebhook(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	change, err := wire.ReadWebhookChange(s.in.Bytes())
	if err != nil {
		return err
	}
	if change.URL != nil {
		if err := h.may(*change.URL); err != nil {
			return err
		}
	}
	return h.withWebhook(c, func(store Webhooks, ctx context.Context, shopID int64, id string) (webhook.Webhook, error) {
		return store.ChangeWebhook(ctx, shopID, id, change)
	})
}

// withWebhook does something with the webhook of the path, and answers with it.
func (h *Handler) withWebhook(c echo.Context, do func(store Webhooks, ctx context.Context, shopID int64, id string) (webhook.Webhook, error)) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.webhookOf(c)
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	w, err := do(store, ctx, callerOf(c).key.ShopID, id)
	if err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	return send(c, representation{contentType: typeJSON, vary: varyAnswer, cache: cachePrivate, body: wire.AppendWebhook(nil, &w)})
}

// renewSecret answers POST /v1/webhooks/{webhook}/secret.
func (h *Handler) renewSecret(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.webhookOf(c)
	if err != nil {
		return err
	}
	s := h.scratch()
	defer h.release(s)
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	hours, err := wire.ReadWebhookSecret(s.in.Bytes())
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	w, err := store.RenewSecret(ctx, callerOf(c).key.ShopID, id, webhook.NewSecret(), time.Duration(hours)*time.Hour)
	if err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	return sendAnswer(c, &shop.Answer{Status: http.StatusOK, Body: wire.AppendNewWebhook(nil, &w), Header: map[string]string{
		"Cache-Control": "no-store", "Content-Type": typeJSON, "Vary": varyAnswer,
	}})
}

// deleteWebhook answers DELETE /v1/webhooks/{webhook}.
func (h *Handler) deleteWebhook(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.webhookOf(c)
	if err != nil {
		return err
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	if err := store.DeleteWebhook(ctx, callerOf(c).key.ShopID, id); err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	return c.NoContent(http.StatusNoContent)
}

// listDeliveries answers GET /v1/webhooks/{webhook}/deliveries.
func (h *Handler) listDeliveries(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	var f webhook.Filter
	f.State, _ = choice(q, "state", webhook.States(), webhook.ParseState)
	limit := q.upTo("limit", mostPage, usualPage)
	q.errorsAsText()
	store, id, err := h.webhookOf(c)
	if err != nil {
		return err
	}
	at, paging := q.cursor("deliveries", id)
	if paging && !webhook.IsID(at.After) {
		q.Fail("cursor", badCursor)
	}
	if err := q.close(); err != nil {
		return err
	}
	f.Before, f.Limit = at.After, limit+1
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	list, err := store.Deliveries(ctx, callerOf(c).key.ShopID, id, f)
	if err != nil {
		return webhookProblem(err, noSuchWebhook)
	}
	next := ""
	if len(list) > limit {
		list = list[:limit]
		next = cursor{List: "deliveries", Catalog: id, Filter: q.filterSum(), After: list[limit-1].ID}.String()
		c.Response().Header().Set("Link", "<"+nextPage(c.Request(), q.values, next)+`>; rel="next"`)
	}
	language := h.language(c.Request())
	return send(c, representation{contentType: typeJSON, language: language, vary: varyAnswer, cache: cachePrivate, body: wire.AppendDeliveries(nil, list, next, language)})
}

// resendDelivery answers POST /v1/webhooks/{webhook}/deliveries/{delivery}/resend.
func (h *Handler) resendDelivery(c echo.Context) error {
	if err := plainQuery(c); err != nil {
		return err
	}
	store, id, err := h.webhookOf(c)
	if err != nil {
		return err
	}
	delivery := pathText(c, "delivery")
	if !webhook.IsID(delivery) {
		return newProblem(notFound, noSuchDelivery)
	}
	ctx, cancel := withTimeout(c, queryTime)
	defer cancel()
	d, err := store.Resend(ctx, callerOf(c).key.ShopID, id, delivery)
	if err != nil {
		return webhookProblem(err, noSuchDelivery)
	}
	return sendAnswer(c, &shop.Answer{Status: http.StatusAccepted, Body: wire.AppendDelivery(nil, &d, h.language(c.Request())), Header: map[string]string{
		"Cache-Control": cachePrivate, "Content-Type": typeJSON, "Vary": varyAnswer,
	}})
}
