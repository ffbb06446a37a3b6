package httpapi

import "midstroke/internal/fault"

// detail is a code of what a problem says about one occurrence. The words stand
// in the message files.
type detail string

// The details of problems.
const (
	allFaults      detail = "faults"
	someFaults     detail = "faults_listed"
	fileFault      detail = "file_fault"
	manyFileFaults detail = "file_faults"

	notJSONAt      detail = "not_json_at"
	bodyCutShort   detail = "body_cut_short"
	bodyUnreadable detail = "body_unreadable"
	bodyTooLarge   detail = "body_too_large"
	bodyCoded      detail = "body_coded"
	charsetOnly    detail = "charset_only"
	jsonOnly       detail = "json_only"

	fileTypes          detail = "file_types"
	rowsFault          detail = "rows_fault"
	rowsFaults         detail = "rows_faults"
	tooManyRequestRows detail = "too_many_request_rows"
	fileCoded          detail = "file_coded"
	fileTooLarge       detail = "file_too_large"
	fileCutShort       detail = "file_cut_short"
	bodyTooSlow        detail = "body_too_slow"

	idempotencyKeySpelling detail = "idempotency_key_spelling"
	idempotencyKeyLong     detail = "idempotency_key_long"
	idempotencyKeyMissing  detail = "idempotency_key_missing"
	otherRequest           detail = "other_request"
	requestInFlight        detail = "request_in_flight"

	noSuchPath          detail = "no_such_path"
	noSuchMethod        detail = "no_such_method"
	noSuchPart          detail = "no_such_part"
	noSuchNumber        detail = "no_such_number"
	noRevisionOfCatalog detail = "no_revision_of_catalog"
	noCatalogOfName     detail = "no_catalog_of_name"
	nothingPublished    detail = "nothing_published"
	mediaTypes          detail = "media_types"

	rateExceeded detail = "rate_exceeded"
	overloaded   detail = "overloaded"

	unexpected     detail = "unexpected"
	stopping       detail = "stopping"
	loadingCatalog detail = "loading_catalog"
	loadingKeys    detail = "loading_keys"
	databaseAway   detail = "database_away"
	databaseFull   detail = "database_full"

	uploadFolderFull detail = "upload_folder_full"
	quotaOfRevisions detail = "quota_of_revisions"
	quotaOfParts     detail = "quota_of_parts"

	keyUnknown     detail = "key_unknown"
	keyRevoked     detail = "key_revoked"
	keyExpired     detail = "key_expired"
	keySpelling    detail = "key_spelling"
	keyTwice       detail = "key_twice"
	originNeeded   detail = "origin_needed"
	otherOrigin    detail = "other_origin"
	needsServerKey detail = "needs_server_key"
	needsAdminKey  detail = "needs_admin_key"
	serverKeyNot   detail = "server_key_not"
	adminKeyNot    detail = "admin_key_not"
	queryKeyReads  detail = "query_key_reads"

	noSuchBatch    detail = "no_such_batch"
	batchNotDone   detail = "batch_not_done"
	tooManyBatches detail = "too_many_batches"

	partsShort          detail = "parts_short"
	stockTypes          detail = "stock_types"
	noSuchQuote         detail = "no_such_quote"
	noSuchSheet         detail = "no_such_sheet"
	quoteErased         detail = "quote_erased"
	quoteIfMatchMissing detail = "quote_if_match_missing"
	quoteChanged        detail = "quote_changed"
	stateCantFollow     detail = "state_cant_follow"
	widgetKeepsNot      detail = "widget_keeps_not"

	noSuchWebhook   detail = "no_such_webhook"
	noSuchDelivery  detail = "no_such_delivery"
	quotaOfWebhooks detail = "quota_of_webhooks"

	publishedAlready       detail = "published_already"
	draftNotPublished      detail = "draft_not_published"
	currentAlready         detail = "current_already"
	currentStays           detail = "current_stays"
	ifMatchMissing         detail = "if_match_missing"
	revisionChanged        detail = "revision_changed"
	currentSinceDraft      detail = "current_since_draft"
	otherCurrentSinceDraft detail = "other_current_since_draft"
)

// The faults of a query that can't be split into its parameters.
const (
	badEncoding fault.Code = "bad_encoding"
	noName      fault.Code = "no_name"
)

// The faults of parameters.
const (
	notAName      fault.Code = "not_a_name"
	notACurrency  fault.Code = "not_a_currency"
	leastOverMost fault.Code = "contradiction.least_over_most"
	badCursor     fault.Code = "bad_cursor"
	foreignCursor fault.Code = "foreign_cursor"
	partShort     fault.Code = "part_short"
	notAMoment    fault.Code = "not_a_moment"
	notSortable   fault.Code = "not_allowed.sort"
)

// The faults that stop a request before it is judged.
const (
	keyNeededFor   fault.Code = "key_needed"
	noSuchCatalog  fault.Code = "no_such_catalog"
	noSuchRevision fault.Code = "no_such_revision"
)
