package folder_test

import (
	"os"
	"path/filepath"
	"testing"

	"readback/capture/folder"
)

func TestWhereAPathLeads(t *testing.T) {
	dir, err := folder.Resolved(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	data, link := filepath.Join(dir, "data"), filepath.Join(dir, "link")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(data, link); err != nil {
		t.Fatal(err)
	}
	for path, inside := range map[string]bool{
		data: true, link: true, filepath.Join(link, "not", "there"): true, filepath.Join(data, "..", "data", "x"): true,
		dir: false, filepath.Join(dir, "data2"): false, filepath.Join(data, ".."): false, filepath.Join(dir, "..data"): false,
	} {
		at, err := folder.Resolved(path)
		if err != nil || folder.Inside(data, at) != inside {
			t.Errorf("%s is %s, inside: %v, %v", path, at, !inside, err)
		}
	}
	if err := folder.Sync(data); err != nil {
		t.Error(err)
	}
	if err := folder.Sync(filepath.Join(dir, "none")); err == nil {
		t.Error("a folder that is not there was synced")
	}
}
