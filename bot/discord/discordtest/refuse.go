package discordtest

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// refusal is an error as the API answers it (API Reference, Error Messages).
type refusal struct {
	status, code int
	message      string
	errors       obj
}

func (r *refusal) Error() string { return fmt.Sprintf("%d: %s", r.code, r.message) }

func refuse(status, code int, message string) *refusal {
	return &refusal{status: status, code: code, message: message}
}

// The refusals by code (Opcodes and Status Codes, JSON Error Codes). The HTTP statuses are from memory.
var (
	errUnauthorized    = refuse(401, 0, "401: Unauthorized")
	errNotFound        = refuse(404, 0, "404: Not Found")
	errUnknownApp      = refuse(404, 10002, "Unknown Application")
	errUnknownChannel  = refuse(404, 10003, "Unknown Channel")
	errUnknownGuild    = refuse(404, 10004, "Unknown Guild")
	errUnknownMember   = refuse(404, 10007, "Unknown Member")
	errUnknownMessage  = refuse(404, 10008, "Unknown Message")
	errUnknownUser     = refuse(404, 10013, "Unknown User")
	errUnknownWebhook  = refuse(404, 10015, "Unknown Webhook")
	errUnknownInteract = refuse(404, 10062, "Unknown interaction")
	errUnknownCommand  = refuse(404, 10063, "Unknown application command")
	errTooManyCommands = refuse(400, 30032, "Maximum number of application commands reached (100)")
	errTooLarge        = refuse(413, 40005, "Request entity too large")
	errAcknowledged    = refuse(400, 40060, "Interaction has already been acknowledged.")
	errMissingAccess   = refuse(403, 50001, "Missing Access")
	errNotInDM         = refuse(403, 50003, "Cannot execute action on a DM channel")
	errNotTheAuthor    = refuse(403, 50005, "Cannot edit a message authored by another user")
	errEmptyMessage    = refuse(400, 50006, "Cannot send an empty message")
	errCannotDM        = refuse(403, 50007, "Cannot send messages to this user")
	errMissingPerms    = refuse(403, 50013, "Missing Permissions")
	errWebhookToken    = refuse(401, 50027, "Invalid Webhook Token")
	errRecipient       = refuse(400, 50033, "Invalid Recipient(s)")
	errInvalidJSON     = refuse(400, 50109, "The request body contains invalid JSON.")
	errNoMutualGuild   = refuse(403, 50278, "Cannot send messages to this user due to having no mutual guilds")
	errNoHistory       = refuse(403, 160002, "Cannot reply without permission to read message history")
)

// form collects what is wrong with a body, by field, for "Invalid Form Body" (50035). The texts and codes of
// the single faults are from memory.
type form struct{ faults obj }

// add records a fault at a path such as "embeds.0.title".
func (f *form) add(path, code, message string) {
	if f.faults == nil {
		f.faults = obj{}
	}
	at := f.faults
	for _, key := range strings.Split(path, ".") {
		next, ok := at[key].(obj)
		if !ok {
			next = obj{}
			at[key] = next
		}
		at = next
	}
	list, _ := at["_errors"].([]obj)
	at["_errors"] = append(list, obj{"code": code, "message": message})
}

// err is the refusal, or nil when nothing was wrong.
func (f *form) err() error {
	if f.faults == nil {
		return nil
	}
	return &refusal{status: 400, code: 50035, message: "Invalid Form Body", errors: f.faults}
}

// length checks a text's length in characters.
func (f *form) length(path, s string, least, most int) {
	switch n := utf8.RuneCountInString(s); {
	case n == 0 && least > 0:
		f.add(path, "BASE_TYPE_REQUIRED", "This field is required")
	case n > most && least == 0:
		f.add(path, "BASE_TYPE_MAX_LENGTH", fmt.Sprintf("Must be %d or fewer in length.", most))
	case n < least, n > most:
		f.badLength(path, least, most)
	}
}

// count checks a list's length.
func (f *form) count(path string, n, least, most int) {
	if n < least || n > most {
		f.badLength(path, least, most)
	}
}

func (f *form) badLength(path string, least, most int) {
	f.add(path, "BASE_TYPE_BAD_LENGTH", fmt.Sprintf("Must be between %d and %d in length.", least, most))
}
