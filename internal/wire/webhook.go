package wire

import (
	"encoding/json"
	"time"

	"midstroke/internal/form"
	"midstroke/internal/unit"
	"midstroke/internal/webhook"
)

var (
	webhookURL    = form.Text(1, webhook.MostURL)
	webhookEvents = form.ListOf(form.NameOf(webhook.EventTypes()), 1, webhook.MostEvents)
	webhookText   = form.Text(0, webhook.MostDescription)
)

// webhookTable is the body of POST /v1/webhooks.
var webhookTable = form.NewRecord(
	form.Field("url", webhookURL, func(w *webhook.Webhook) *string { return &w.URL }).Needed(),
	form.Field("events", webhookEvents, func(w *webhook.Webhook) *[]string { return &w.Events }).Needed(),
	form.Field("description", webhookText, func(w *webhook.Webhook) *string { return &w.Description }),
	form.Field("active", form.Flag, func(w *webhook.Webhook) *bool { return &w.Active }),
)

// ReadWebhook reads the body of POST /v1/webhooks. It is for the policy to say whether
// events may be sent to its URL.
func ReadWebhook(body []byte) (*webhook.Webhook, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return nil, unread(err)
	}
	w := &webhook.Webhook{Active: true}
	return w, refused(form.Read(f, webhookTable, w, nil), unit.Unset)
}

var webhookChangeTable = form.NewRecord(
	form.Field("url", webhookURL, func(c *webhook.Change) *string { return orNew(&c.URL) }),
	form.Field("events", webhookEvents, func(c *webhook.Change) *[]string { return &c.Events }),
	form.Field("description", webhookText, func(c *webhook.Change) *string { return orNew(&c.Description) }),
	form.Field("active", form.Flag, func(c *webhook.Change) *bool { return orNew(&c.Active) }),
)

// ReadWebhookChange reads the body of PATCH /v1/webhooks/{webhook}.
func ReadWebhookChange(body []byte) (*webhook.Change, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return nil, unread(err)
	}
	c := new(webhook.Change)
	return c, refused(form.Read(f, webhookChangeTable, c, nil), unit.Unset)
}

var webhookSecretTable = form.NewRecord(
	form.Field("former_hours", form.Whole(0, webhook.MostFormerHours), func(hours *int) *int { return hours }),
)

// ReadWebhookSecret reads the body of POST /v1/webhooks/{webhook}/secret: for how many
// hours the former secret stays good.
func ReadWebhookSecret(body []byte) (hours int, _ error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return 0, unread(err)
	}
	hours = webhook.UsualFormerHours
	return hours, refused(form.Read(f, webhookSecretTable, &hours, nil), unit.Unset)
}

type webhookJSON struct {
	ID          string      `json:"id"`
	URL         string      `json:"url"`
	Events      []string    `json:"events"`
	Description string      `json:"description"`
	Active      bool        `json:"active"`
	Created     time.Time   `json:"created_at"`
	CreatedBy   string      `json:"created_by"`
	FormerUntil []time.Time `json:"former_signatures_until"`
	Secret      string      `json:"secret,omitempty"`
}

func webhookOf(w *webhook.Webhook) webhookJSON {
	all := webhookJSON{
		ID: w.ID, URL: w.URL, Events: w.Events, Description: w.Description, Active: w.Active, Created: w.Created.UTC(), CreatedBy: w.CreatedBy,
		FormerUntil: []time.Time{},
	}
	for _, former := range w.Former {
		all.FormerUntil = append(all.FormerUntil, former.Until.UTC())
	}
	return all
}

// AppendWebhook appends a webhook, without its secret.
func AppendWebhook(dst []byte, w *webhook.Webhook) []byte { return appendJSON(dst, webhookOf(w)) }

// AppendNewWebhook appends a webhook with its secret.
func AppendNewWebhook(dst []byte, w *webhook.Webhook) []byte {
	all := webhookOf(w)
	all.Secret = w.Secret.Written()
	return appendJSON(dst, all)
}

// AppendWebhooks appends a shop's webhooks.
func AppendWebhooks(dst []byte, list []webhook.Webhook) []byte {
	page := struct {
		Items []webhookJSON `json:"items"`
	}{[]webhookJSON{}}
	for i := range list {
		page.Items = append(page.Items, webhookOf(&list[i]))
	}
	return appendJSON(dst, page)
}

type deliveryJSON struct {
	ID       string          `json:"id"`
	State    string          `json:"state"`
	Attempts int             `json:"attempts"`
	Created  time.Time       `json:"created_at"`
	Next     *time.Time      `json:"next_attempt_at"`
	Last     *attemptJSON    `json:"last_attempt"`
	Event    json.RawMessage `json:"event"`
}

type attemptJSON struct {
	At     time.Time       `json:"at"`
	TookMS int64           `json:"took_ms"`
	Status *int            `json:"status"`
	Fault  json.RawMessage `json:"fault"`
}

func deliveryOf(d *webhook.Delivery, lang string) deliveryJSON {
	all := deliveryJSON{ID: d.ID, State: d.State.String(), Attempts: d.Attempts, Created: d.Created.UTC(), Event: d.Body}
	if !d.Next.IsZero() {
		next := d.Next.UTC()
		all.Next = &next
	}
	if a := d.Last; a != nil {
		all.Last = &attemptJSON{At: a.At.UTC(), TookMS: a.Took.Milliseconds()}
		if a.Status != 0 {
			all.Last.Status = &a.Status
		}
		if a.Fault != "" {
			why := a.Note()
			w := writer{lang: lang, units: unit.Millimetres}
			writeObject(&w, freshNote, &why)
			all.Last.Fault = w.b
		}
	}
	return all
}

// AppendDelivery appends a delivery.
func AppendDelivery(dst []byte, d *webhook.Delivery, lang string) []byte {
	return appendJSON(dst, deliveryOf(d, lang))
}

// AppendDeliveries appends a page of deliveries; next is the cursor of the next page, ""
// on the last one.
func AppendDeliveries(dst []byte, list []webhook.Delivery, next, lang string) []byte {
	page := struct {
		Items      []deliveryJSON `json:"items"`
		NextCursor *string        `json:"next_cursor"`
	}{Items: []deliveryJSON{}}
	for i := range list {
		page.Items = append(page.Items, deliveryOf(&list[i], lang))
	}
	if next != "" {
		page.NextCursor = &next
	}
	return appendJSON(dst, page)
}
