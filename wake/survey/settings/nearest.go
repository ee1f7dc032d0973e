package settings

// Nearest returns the candidate with the smallest edit distance to s, the first
// of equals, and whether it is near enough to be what was meant: no more than a
// third of the longer word, or one edit in words of two letters or more, may differ.
func Nearest(s string, candidates []string) (string, bool) {
	best, word := -1, ""
	for _, c := range candidates {
		if d := editDistance(s, c); best < 0 || d < best {
			best, word = d, c
		}
	}
	longer := max(len([]rune(s)), len([]rune(word)))
	return word, best >= 0 && longer > 1 && best <= max(1, longer/3)
}

// editDistance counts the insertions, deletions, replacements and swaps of
// neighbours that turn a into b, no letter being touched twice (optimal string
// alignment; Damerau 1964, Comm. ACM 7, 171 [from memory]). It is symmetric and
// zero only for equal words.
func editDistance(a, b string) int {
	s, t := []rune(a), []rune(b)
	before, prev, cur := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(s); i++ {
		cur[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(t)]
}
