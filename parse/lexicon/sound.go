package lexicon

// Sound reduces a word to the consonants that a listener would hear: "collar",
// "caller", "color" and "cooler" all give "klr". Vowels after the first letter, doubled letters and
// silent letters go. Common practice in matching by sound; the table is our own.
func Sound(word string) string {
	var out []byte
	for i := 0; i < len(word); i++ {
		c := word[i]
		if i+1 < len(word) {
			switch word[i : i+2] {
			case "kn", "gn", "wr":
				if i == 0 {
					continue
				}
			case "ph":
				c = 'f'
			case "ck", "gh", "th":
				i++
				if word[i-1] == 'g' {
					continue
				}
				if c = 'k'; word[i] == 'h' {
					c = 't'
				}
			case "sh", "ch":
				c = 'x'
				i++
			}
		}
		switch c {
		case 'a', 'e', 'i', 'o', 'u', 'y', 'h', 'w', '\'':
			if i > 0 || c == 'h' {
				continue
			}
			c = 'a'
		case 'c', 'q':
			c = 'k'
		case 'z':
			c = 's'
		case 'd':
			c = 't'
		case 'v':
			c = 'f'
		case 'b':
			c = 'p'
		case 'm':
			if i+1 < len(word) && (word[i+1] == 'p' || word[i+1] == 'b') {
				c = 'n' // "inpeller"
			}
		}
		if len(out) == 0 || out[len(out)-1] != c {
			out = append(out, c)
		}
	}
	return string(out)
}

// Alike reports whether two words sound alike: the same [Sound], or but for an "r" or a stop
// at the end, which many speakers drop ("bill" for "build", "bowl" for "bolt", "colla" for
// "collar").
func Alike(a, b string) bool {
	x, y := Sound(a), Sound(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	switch len(y) - len(x) {
	case 0:
		return x == y
	case 1:
		last := y[len(y)-1]
		return len(x) > 1 && y[:len(x)] == x && (last == 'r' || last == 't')
	}
	return false
}

// Slip returns how many letters must be changed, added or left out to make b of a,
// but at most limit + 1.
func Slip(a, b string, limit int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit {
		return limit + 1
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal = row[j]
			row[j] = min(change, row[j]+1, row[j-1]+1)
		}
	}
	return min(row[len(b)], limit+1)
}
