package ui

import (
	"fmt"
	"io/fs"
	"sync"
)

// loaded is the pages and assets, read once for [Address].
var loaded = sync.OnceValues(func() (*ui, error) {
	u := &ui{pages: map[string][]byte{}, packed: map[string][]byte{}}
	return u, u.load()
})

// Address returns the path at which [Handler] serves an asset, for pages that stand in
// other folders and look like these.
func Address(name string) (string, error) {
	if _, err := fs.Stat(files, "assets/"+name); err != nil {
		return "", fmt.Errorf("asset: %w", err)
	}
	u, err := loaded()
	if err != nil {
		return "", fmt.Errorf("asset %s: %w", name, err)
	}
	return u.address(name), nil
}
