package grid

// Fill is a function of 0 … n−1 as a list.
func Fill[T any](n int, f func(i int) T) []T {
	out := make([]T, n)
	for i := range out {
		out[i] = f(i)
	}
	return out
}
