package grid

// Fill is a function of 0 … n−1 as a list.
func Fill[T any](n int, f func(i int) T) []T {
	out := make([]T, n)
	for i := range out {
		out[i] = f(i)
	}
	return out
}

// Where lists the numbers of 0 … n−1 that are in.
func Where[I int | int32](n int, in func(i I) bool) (out []I) {
	for i := I(0); i < I(n); i++ {
		if in(i) {
			out = append(out, i)
		}
	}
	return out
}
