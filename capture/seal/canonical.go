package seal

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// ErrJSON is of text that has no canonical form: it is no JSON, a name stands twice in an object, text is
// not UTF-8 or holds half of a surrogate pair, it is nested more than 10,000 deep, or a number is not exact.
var ErrJSON = errors.New("it has no canonical form")

// Canonical returns the canonical form of one JSON value (RFC 8785).
//
// More strictly than the RFC, a number must be the same number for every reader: an integer of at most
// 2^53 - 1, or a fraction that is the shortest way to write its double. Else 9007199254740993 would have
// the form of 9007199254740992, and one could stand for the other.
func Canonical(text []byte) ([]byte, error) {
	out, err := canonicalForm(text)
	if err != nil {
		return nil, err
	}
	if number := inexact(text); number != "" {
		return nil, fmt.Errorf("%w: the number %s is not the same to every reader", ErrJSON, number)
	}
	return out, nil
}

// canonicalForm is RFC 8785, and no more.
func canonicalForm(text []byte) ([]byte, error) {
	out := jsontext.Value(append([]byte(nil), text...))
	if err := out.Canonicalize(); err != nil {
		return nil, fmt.Errorf("%w: %s", ErrJSON, plainFault(err))
	}
	return out, nil
}

// plainFault is what is wrong without the names of the library.
func plainFault(err error) string {
	if fault, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		where := ""
		if fault.JSONPointer != "" {
			where = fmt.Sprintf(" at %s", plain(string(fault.JSONPointer)))
		}
		return fmt.Sprintf("%v%s, byte %d", fault.Err, where, fault.ByteOffset)
	}
	return err.Error()
}

const exactInteger = 1<<53 - 1

// inexact returns the first number of a JSON value, which is valid, that not every reader keeps, or "".
func inexact(text []byte) string {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			for i++; i < len(text) && text[i] != '"'; i++ {
				if text[i] == '\\' {
					i++
				}
			}
		case c == '-' || c >= '0' && c <= '9':
			end := i + 1
			for end < len(text) && strings.IndexByte("+-.eE0123456789", text[end]) >= 0 {
				end++
			}
			if number := string(text[i:end]); !exact(number) {
				return number[:min(len(number), 40)]
			}
			i = end - 1
		}
	}
	return ""
}

// exact reports whether a number has the value that its double is written with.
func exact(number string) bool {
	if len(number) <= 15 && !strings.ContainsAny(number, ".eE") {
		return true
	}
	double, err := strconv.ParseFloat(number, 64)
	if err != nil || double > exactInteger || double < -exactInteger {
		return false
	}
	digits, power := decimal(number)
	again, samePower := decimal(strconv.FormatFloat(double, 'e', -1, 64))
	return digits == again && (digits == "" || power == samePower)
}

// decimal takes a number apart into its digits without zeros at the ends, and the power of ten of the last.
// Zero has no digits. The sign is left out: it is never lost.
func decimal(number string) (digits string, power int) {
	mantissa, exponent, _ := strings.Cut(strings.ToLower(strings.TrimPrefix(number, "-")), "e")
	whole, fraction, _ := strings.Cut(mantissa, ".")
	power, err := strconv.Atoi(exponent)
	if exponent != "" && err != nil { // of more digits than a double has a use for
		power = 1 << 40
	}
	power -= len(fraction)
	all := strings.TrimLeft(whole+fraction, "0")
	digits = strings.TrimRight(all, "0")
	return digits, power + len(all) - len(digits)
}
