package wire

import (
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-playground/validator/v10"
	"github.com/oklog/ulid/v2"
)

// shapes checks the validate tags. It holds nothing but what it has learned of our types;
// commands that check none do without it.
var shapes = sync.OnceValue(newShapes)

var jobID = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$`)

func newShapes() *validator.Validate {
	v := validator.New(validator.WithRequiredStructEnabled())
	v.RegisterTagNameFunc(func(f reflect.StructField) string {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return name
	})
	for tag, ok := range map[string]func(string) bool{
		"canonical_ulid": isULID,
		"said":           func(s string) bool { return strings.TrimSpace(s) != "" && plain(s) },
		"plain":          plain,
		"name":           name,
		"job_id":         jobID.MatchString,
		"disposition":    isDisposition,
	} {
		if err := v.RegisterValidation(tag, func(f validator.FieldLevel) bool { return ok(f.Field().String()) }); err != nil {
			panic(err) // the tag's name is wrong: a fault of this file
		}
	}
	return v
}

// isULID wants the one way to write an id, since ids are compared as text.
func isULID(s string) bool {
	id, err := ulid.ParseStrict(s)
	return err == nil && id.String() == s
}

// plain refuses control characters, which no keyboard sends; a tab or a line's end is
// part of a note that was pasted.
func plain(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool {
		return unicode.IsControl(r) && r != '\t' && r != '\n' && r != '\r'
	})
}

// name refuses what [plain] does, and marks that turn the direction of what stands behind them: a name is
// shown beside others, in lists and on paper.
func name(s string) bool { return plain(s) && !strings.ContainsFunc(s, turns) }

// turns reports whether r is an embedding, an override or an isolate of the Unicode bidirectional algorithm.
func turns(r rune) bool { return r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 }

// checkShape returns a *[Error] for the first field whose shape is wrong.
func checkShape(message any) error {
	err := shapes().Struct(message)
	if err == nil {
		return nil
	}
	if wrong, ok := errors.AsType[validator.ValidationErrors](err); ok {
		return inWords(wrong[0])
	}
	return fmt.Errorf("check message: %w", err)
}

// inWords says what a tag found, to someone who has never heard of tags.
func inWords(e validator.FieldError) *Error {
	field := e.Field()
	switch e.Tag() {
	case "required":
		return &Error{Wrong: "there is no " + field, Do: "send one"}
	case "canonical_ulid":
		return &Error{Wrong: fmt.Sprintf("id %.40q is not a ULID", e.Value()), Do: "make one of 26 capitals and digits for each note"}
	case "said":
		if text, ok := e.Value().(string); ok && strings.TrimSpace(text) != "" {
			return &Error{Wrong: "the note holds a control character", Do: "take it out"}
		}
		return &Error{Wrong: "the note is empty", Do: "say something"}
	case "plain":
		return &Error{Wrong: field + " holds a control character", Do: "take it out"}
	case "name":
		return &Error{Wrong: field + " holds a control character, or a mark that turns the direction of text", Do: "take it out"}
	case "job_id":
		return &Error{
			Wrong: fmt.Sprintf("%.80q cannot be a job's id", e.Value()),
			Do:    "use up to 64 letters, digits, dots, dashes and underscores, such as MW-1041",
		}
	case "disposition":
		return &Error{Wrong: fmt.Sprintf("%.40q is no disposition", e.Value()), Do: "send rework, use as is or scrap"}
	case "datetime":
		return &Error{
			Wrong: fmt.Sprintf("%s %.40q is no time", field, e.Value()),
			Do:    "send RFC 3339, such as 2031-03-04T08:00:00Z, or leave it out",
		}
	case "oneof":
		return &Error{Wrong: fmt.Sprintf("%s %.40q is not known", field, e.Value()), Do: "send " + e.Param()}
	case "excluded_with":
		return &Error{Wrong: field + " came with from", Do: "put words right by typing: leave one of the two out"}
	case "excluded_unless":
		return &Error{Wrong: field + " came without from browser", Do: "leave it out: it tells of words that a browser has heard"}
	case "min", "max":
		return bounds(e)
	}
	return &Error{Wrong: field + " has the wrong shape (" + e.Tag() + ")", Do: "see the protocol"}
}

func bounds(e validator.FieldError) *Error {
	if e.Kind() == reflect.String {
		return &Error{
			Wrong: fmt.Sprintf("%s is longer than %s characters", e.Field(), e.Param()),
			Do:    "say it in several notes or in fewer words",
		}
	}
	side := map[string]string{"min": "least", "max": "most"}[e.Tag()]
	return &Error{
		Wrong: fmt.Sprintf("%s %v is out of range", e.Field(), e.Value()),
		Do:    fmt.Sprintf("send at %s %s", side, e.Param()),
	}
}

// IsName reports whether s may name a bench or a person: plain text of at most limit
// characters, which turns no direction, or nothing.
func IsName(s string, limit int) bool {
	return utf8.ValidString(s) && name(s) && utf8.RuneCountInString(s) <= limit
}
