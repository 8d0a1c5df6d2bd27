// Package expr computes readings from readings: "end_play_down - end_play_up". An
// expression is made of names, decimal numbers, + - * / and brackets. Units are
// checked once, before anything is computed; values are exact.
package expr

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"readback/parse/number"
)

// The longest and the most deeply bracketed expression that is taken.
const (
	MaxLength = 500
	MaxDepth  = 20
)

// ErrZero is the error of a division by zero.
var ErrZero = errors.New("division by zero")

// Expr is an expression. It is read-only.
type Expr struct {
	text  string
	root  node
	names []string
}

type node struct {
	op    byte // '+', '-', '*', '/', 'n' a name, '1' a number, '~' minus
	name  string
	value *big.Rat
	left  *node
	right *node
}

// Error is a fault of an expression.
type Error struct {
	At    int // byte, from 0
	Wrong string
}

func (e *Error) Error() string { return e.Wrong }

// Parse reads an expression. The error is an [*Error].
func Parse(text string) (*Expr, error) {
	if len(text) > MaxLength {
		return nil, &Error{0, fmt.Sprintf("the expression is longer than %d characters", MaxLength)}
	}
	p := &parser{text: text}
	root, err := p.sum()
	if err != nil {
		return nil, err
	}
	if p.space(); p.at < len(text) {
		return nil, &Error{p.at, fmt.Sprintf("%q does not belong here", text[p.at:])}
	}
	return &Expr{text: text, root: *root, names: p.names}, nil
}

// String returns the expression as it was written.
func (e *Expr) String() string { return e.text }

// Names returns the names used, each once, in the order in which they stand.
func (e *Expr) Names() []string { return slices.Clone(e.names) }

// Eval computes the value; of gives the value of a name. The error is that of of, or
// wraps [ErrZero].
func (e *Expr) Eval(of func(name string) (*big.Rat, error)) (*big.Rat, error) {
	return e.root.eval(of)
}

func (n *node) eval(of func(string) (*big.Rat, error)) (*big.Rat, error) {
	switch n.op {
	case '1':
		return new(big.Rat).Set(n.value), nil
	case 'n':
		return of(n.name)
	case '~':
		x, err := n.left.eval(of)
		if err != nil {
			return nil, err
		}
		return new(big.Rat).Neg(x), nil
	}
	x, err := n.left.eval(of)
	if err != nil {
		return nil, err
	}
	y, err := n.right.eval(of)
	if err != nil {
		return nil, err
	}
	out := new(big.Rat)
	switch n.op {
	case '+':
		return out.Add(x, y), nil
	case '-':
		return out.Sub(x, y), nil
	case '*':
		return out.Mul(x, y), nil
	}
	if y.Sign() == 0 && n.right.name == "" { // a sum in brackets
		return nil, ErrZero
	}
	if y.Sign() == 0 {
		return nil, fmt.Errorf("%s: %w", n.right.name, ErrZero)
	}
	return out.Quo(x, y), nil
}

// Dimension returns the dimension of the result; of gives that of a name. Sums need
// one dimension on both sides; products and quotients take a plain number on one.
// The result "" is a plain number.
func (e *Expr) Dimension(of func(name string) string) (string, error) { return e.root.dimension(of) }

func (n *node) dimension(of func(string) string) (string, error) {
	switch n.op {
	case '1':
		return "", nil
	case 'n':
		return of(n.name), nil
	case '~':
		return n.left.dimension(of)
	}
	a, err := n.left.dimension(of)
	if err != nil {
		return "", err
	}
	b, err := n.right.dimension(of)
	if err != nil {
		return "", err
	}
	switch {
	case n.op == '+' || n.op == '-':
		if a != b {
			return "", fmt.Errorf("%s and %s cannot be added or subtracted", plain(a), plain(b))
		}
		return a, nil
	case n.op == '*' && a != "" && b != "":
		return "", fmt.Errorf("%s times %s is not supported; one side must be a plain number", a, b)
	case n.op == '*':
		return a + b, nil
	case b == "":
		return a, nil
	case a == b:
		return "", nil
	}
	return "", fmt.Errorf("%s divided by %s is not supported", plain(a), b)
}

func plain(dimension string) string {
	if dimension == "" {
		return "a plain number"
	}
	return dimension
}

type parser struct {
	text  string
	at    int
	depth int
	names []string
}

func (p *parser) space() {
	for p.at < len(p.text) && p.text[p.at] == ' ' {
		p.at++
	}
}

// next takes one of the signs in set, or returns 0.
func (p *parser) next(set string) byte {
	p.space()
	if p.at < len(p.text) && strings.IndexByte(set, p.text[p.at]) >= 0 {
		p.at++
		return p.text[p.at-1]
	}
	return 0
}

func (p *parser) sum() (*node, error)     { return p.chain("+-", p.product) }
func (p *parser) product() (*node, error) { return p.chain("*/", p.factor) }

func (p *parser) chain(ops string, part func() (*node, error)) (*node, error) {
	left, err := part()
	for err == nil {
		op := p.next(ops)
		if op == 0 {
			return left, nil
		}
		var right *node
		if right, err = part(); err == nil {
			left = &node{op: op, left: left, right: right}
		}
	}
	return nil, err
}

func (p *parser) factor() (*node, error) {
	p.space()
	if p.depth++; p.depth > MaxDepth {
		return nil, &Error{p.at, fmt.Sprintf("brackets are nested more than %d deep", MaxDepth)}
	}
	defer func() { p.depth-- }()
	switch {
	case p.next("-") != 0:
		x, err := p.factor()
		return &node{op: '~', left: x}, err
	case p.next("(") != 0:
		x, err := p.sum()
		if err == nil && p.next(")") == 0 {
			err = &Error{p.at, "a bracket is not closed"}
		}
		return x, err
	}
	start := p.at
	for p.at < len(p.text) && isWord(p.text[p.at]) {
		p.at++
	}
	word := p.text[start:p.at]
	switch {
	case word == "":
		return nil, &Error{start, "a name or a number is missing"}
	case word[0] >= '0' && word[0] <= '9':
		v, ok := number.Parse(word)
		if !ok {
			return nil, &Error{start, fmt.Sprintf("%q is not a decimal number", word)}
		}
		return &node{op: '1', name: word, value: v.Rat()}, nil
	}
	if !slices.Contains(p.names, word) {
		p.names = append(p.names, word)
	}
	return &node{op: 'n', name: word}, nil
}

func isWord(c byte) bool {
	return c == '_' || c == '.' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
}
