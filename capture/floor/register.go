package floor

import (
	"sync"

	"readback/rules"
	"readback/rules/spec"
)

// Register is a shop's register of instruments with the text that it was read from. Each
// job keeps the text as it was when the job was opened. The zero Register is none.
type Register struct {
	text string
	shop *rules.Shop
}

// ReadRegister reads a register; file is the name that faults show.
func ReadRegister(file string, text []byte) (Register, error) {
	shop, err := spec.LoadShop(file, text)
	if err != nil {
		return Register{}, err
	}
	return Register{string(text), shop}, nil
}

// registers keeps the registers that jobs were opened with, by their text.
type registers struct {
	mu     sync.Mutex
	byText map[string]*rules.Shop
}

func (r *registers) of(text string) (*rules.Shop, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // a job without a register is an ordinary thing
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if known, ok := r.byText[text]; ok {
		return known, nil
	}
	made, err := ReadRegister("register.yaml", []byte(text))
	if err == nil {
		r.byText[text] = made.shop
	}
	return made.shop, err
}
