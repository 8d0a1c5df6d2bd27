package unit

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"
)

// Bounds on a code, so that no note or spec can make numbers without end.
const (
	longest     = 64 // bytes of a code
	highest     = 9  // exponent of a unit
	highestOf10 = 30 // exponent of 10* and 10^
	digits      = 9  // of a number inside a code
)

// Parse reads a UCUM code in its case-sensitive form: atoms with metric prefixes,
// products with "." and "/", exponents, brackets, whole numbers, and annotations in
// braces, which carry no meaning. It knows the atoms of the trade, and an error says
// which part it does not know and, where it can, what was meant.
func Parse(code string) (Measure, error) {
	if u, ok := table().byCode[code]; ok {
		return u.measure, nil
	}
	_, m, err := parse(code, atoms())
	if err == nil {
		return m, nil
	}
	if meant, ok := Suggest(code); ok {
		return Measure{}, fmt.Errorf("unit %q: %w; for that unit write %s", code, err, meant)
	}
	return Measure{}, fmt.Errorf("unit %q: %w; write UCUM codes, such as N.m, mm or [in_i]", code, err)
}

// parse returns the terms of a code in sorted order, and their product.
func parse(code string, known map[string]atom) (terms string, m Measure, err error) {
	if len(code) > longest {
		return "", Measure{}, fmt.Errorf("longer than %d bytes", longest)
	}
	p := parser{rest: code, known: known, m: Measure{Factor: big.NewRat(1, 1)}}
	if err := p.term(1); err != nil {
		return "", Measure{}, err
	}
	if p.rest != "" {
		return "", Measure{}, fmt.Errorf("%q cannot stand there", p.rest)
	}
	slices.Sort(p.terms)
	return strings.Join(p.terms, " "), p.m, nil
}

type parser struct {
	rest  string
	known map[string]atom
	m     Measure
	terms []string
}

var errEnd = errors.New("it is not complete")

// term reads components joined by "." and "/"; sign is -1 inside a divisor.
func (p *parser) term(sign int) error {
	exp := sign
	if p.take("/") {
		exp = -sign
	}
	for {
		if err := p.component(exp); err != nil {
			return err
		}
		switch {
		case p.take("."):
			exp = sign
		case p.take("/"):
			exp = -sign
		default:
			return nil
		}
	}
}

// component reads a term in brackets, a number or a unit, each with its annotation, or
// an annotation alone.
func (p *parser) component(sign int) error {
	if p.rest == "" {
		return errEnd
	}
	if p.take("(") {
		if err := p.term(sign); err != nil {
			return err
		}
		if !p.take(")") {
			return errors.New("a bracket is not closed")
		}
		return nil
	}
	if p.rest[0] == '{' {
		return p.annotation()
	}
	read := p.symbol
	if isDigit(p.rest[0]) && !strings.HasPrefix(p.rest, "10*") && !strings.HasPrefix(p.rest, "10^") {
		read = p.number
	}
	if err := read(sign); err != nil {
		return err
	}
	return p.annotation()
}

func (p *parser) number(sign int) error {
	n := p.run(isDigit)
	if len(n) > digits || strings.Trim(n, "0") == "" {
		return fmt.Errorf("%s is no factor", n)
	}
	if n == "1" {
		return nil
	}
	return p.multiply(n, Measure{Factor: ratio(n)}, sign)
}

func (p *parser) symbol(sign int) error {
	name := p.name()
	if name == "" {
		return fmt.Errorf("%q cannot stand there", p.rest)
	}
	m, ok := find(name, p.known)
	if !ok {
		return fmt.Errorf("%q is not known", name)
	}
	exp, err := p.exponent(strings.HasPrefix(name, "10"))
	if err != nil {
		return err
	}
	return p.multiply(name, m, sign*exp)
}

// name takes a symbol: everything up to an operator, a digit or a sign, but all of
// what stands in square brackets.
func (p *parser) name() string {
	if strings.HasPrefix(p.rest, "10*") || strings.HasPrefix(p.rest, "10^") {
		name := p.rest[:3]
		p.rest = p.rest[3:]
		return name
	}
	inside := false
	return p.run(func(c byte) bool {
		switch c {
		case '[':
			inside = true
		case ']':
			inside = false
			return true
		}
		return inside || !isDigit(c) && strings.IndexByte("./(){}+-", c) < 0
	})
}

func (p *parser) exponent(ten bool) (int, error) {
	sign := ""
	if p.take("-") {
		sign = "-"
	} else if p.take("+") {
		sign = "+"
	}
	n := p.run(isDigit)
	if n == "" && sign == "" {
		return 1, nil
	}
	exp, err := strconv.Atoi(sign + n)
	bound := highest
	if ten {
		bound = highestOf10
	}
	if err != nil || exp == 0 || exp > bound || exp < -bound {
		return 0, fmt.Errorf("%q is no exponent", sign+n)
	}
	return exp, nil
}

func (p *parser) multiply(name string, m Measure, exp int) error {
	name = litre(name)
	if m.Offset != nil {
		if exp != 1 || len(p.terms) > 0 || p.rest != "" {
			return fmt.Errorf("%s has no products and no powers; intervals are K or [degR]", name)
		}
		p.terms, p.m = append(p.terms, name), m
		return nil
	}
	product, _ := p.m.Times(m, exp)
	p.terms, p.m = append(p.terms, name+"^"+strconv.Itoa(exp)), product
	return nil
}

// litre writes l and ml as L and mL: one unit with two codes.
func litre(name string) string {
	stem, ok := strings.CutSuffix(name, "l")
	if ok && (stem == "" || slices.ContainsFunc(prefixes, func(p prefix) bool { return p.code == stem })) {
		return stem + "L"
	}
	return name
}

func (p *parser) annotation() error {
	if !p.take("{") {
		return nil
	}
	text, rest, closed := strings.Cut(p.rest, "}")
	if !closed || strings.Contains(text, "{") {
		return errors.New("an annotation is not closed")
	}
	for i := range len(text) {
		if text[i] < '!' || text[i] > '~' {
			return errors.New("an annotation holds what is not plain ASCII")
		}
	}
	p.rest = rest
	return nil
}

func (p *parser) take(s string) bool {
	rest, ok := strings.CutPrefix(p.rest, s)
	if ok {
		p.rest = rest
	}
	return ok
}

func (p *parser) run(in func(c byte) bool) string {
	i := 0
	for i < len(p.rest) && in(p.rest[i]) {
		i++
	}
	s := p.rest[:i]
	p.rest = p.rest[i:]
	return s
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func split(s string, sep byte) []string { return strings.Split(s, string(sep)) }

// find returns the size of an atom, with or without a metric prefix.
func find(name string, known map[string]atom) (Measure, bool) {
	if a, ok := known[name]; ok {
		return a.measure, true
	}
	for _, prefix := range prefixes {
		stem, ok := strings.CutPrefix(name, prefix.code)
		if a := known[stem]; ok && a.metric {
			return a.measure.scaled(prefix.ten), true
		}
	}
	return Measure{}, false
}

func (m Measure) scaled(ten int) Measure {
	p := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(ten, -ten))), nil))
	if ten < 0 {
		p.Inv(p)
	}
	m.Factor = p.Mul(p, m.Factor)
	return m
}
