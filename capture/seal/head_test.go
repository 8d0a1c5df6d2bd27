package seal

import (
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"testing"
)

// RFC 8032, section 7.1, tests 1 to 3.
var ed25519Vectors = []struct{ seed, public, message, signature string }{
	{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "", "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
	{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72", "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
	{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82", "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
}

func unhex(t *testing.T, text string) []byte {
	t.Helper()
	out, err := hex.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func keyOf(t *testing.T, seed string) *Key {
	t.Helper()
	return &Key{private: ed25519.NewKeyFromSeed(unhex(t, seed))}
}

func TestEd25519(t *testing.T) {
	for i, v := range ed25519Vectors {
		key, message, signature := keyOf(t, v.seed), unhex(t, v.message), unhex(t, v.signature)
		if got := key.Public().String(); got != v.public {
			t.Errorf("test %d: public key %s, want %s", i+1, got, v.public)
		}
		if got := hex.EncodeToString(ed25519.Sign(key.private, message)); got != v.signature {
			t.Errorf("test %d: signature %s, want %s", i+1, got, v.signature)
		}
		public := unhex(t, v.public)
		flip := func(what string, text []byte) {
			for bit := range 8 * len(text) {
				text[bit/8] ^= 1 << (bit % 8)
				if ed25519.Verify(public, message, signature) {
					t.Errorf("test %d: bit %d of %s is flipped, and the signature holds", i+1, bit, what)
				}
				text[bit/8] ^= 1 << (bit % 8)
			}
		}
		flip("the message", message)
		flip("the key", public)
		flip("R and S", signature)
		if !ed25519.Verify(public, message, signature) {
			t.Errorf("test %d: the signature does not hold", i+1)
		}
	}
}

// What is signed is written here once more, by hand: whoever checks a record without this program needs
// just this.
func TestWhatIsSigned(t *testing.T) {
	key := keyOf(t, ed25519Vectors[0].seed)
	const fingerprint = "21fe31dfa154a261626bf854046fd2271b7bed4b6abe45aa58877ef47f9721b9" // sha256sum of the 32 bytes of the key
	h, err := key.SignHead(Head{At: 1930464000123456, Log: hashOf([]byte("log")), Root: hashOf([]byte("root")), Size: 12})
	if err != nil {
		t.Fatal(err)
	}
	text := "readback.head.v1\n" + `{"at":1930464000123456,"key":"` + fingerprint + `","log":"` + hashOf([]byte("log")).String() + `","root":"` + hashOf([]byte("root")).String() + `","size":12}`
	public := key.Public()
	if !ed25519.Verify(public[:], []byte(text), h.Signature[:]) {
		t.Errorf("the signature of a head is not of %q", text)
	}
	if err := h.Check(key.Public()); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(*SignedHead){
		"time":      func(h *SignedHead) { h.Head.At++ },
		"key":       func(h *SignedHead) { h.Head.Key[0]++ },
		"log":       func(h *SignedHead) { h.Head.Log[31]++ },
		"root":      func(h *SignedHead) { h.Head.Root[5]++ },
		"size":      func(h *SignedHead) { h.Head.Size++ },
		"signature": func(h *SignedHead) { h.Signature[40]++ },
	} {
		other := h
		change(&other)
		if err := other.Check(key.Public()); !errors.Is(err, ErrSignature) {
			t.Errorf("another %s: %v", name, err)
		}
	}
	if err := h.Check(keyOf(t, ed25519Vectors[1].seed).Public()); !errors.Is(err, ErrSignature) {
		t.Errorf("another key: %v", err)
	}
	if check(key.Public(), keyContext, h.Head, h.Signature) == nil || check(key.Public(), exportContext, h.Head, h.Signature) == nil {
		t.Error("the signature of a head is taken for one of another sort")
	}
	job, err := JobHead{Job: "MW-1041", Root: hashOf([]byte("root")), Size: 3}.leaf()
	if want := LeafHash([]byte(`{"job":"MW-1041","kind":"job","root":"` + hashOf([]byte("root")).String() + `","size":3}`)); err != nil || job != want {
		t.Errorf("the leaf of a job's head is %s, error %v, want %s", job, err, want)
	}
	made, err := Event{At: 1930464000123456, Event: KeyMade, Key: key.Public()}.leaf()
	if want := LeafHash([]byte(`{"at":1930464000123456,"event":"made","key":"` + ed25519Vectors[0].public + `","kind":"key"}`)); err != nil || made != want {
		t.Errorf("the leaf of a key is %s, error %v, want %s", made, err, want)
	}
}
