package delaunay

import "fmt"

// adjacency returns the neighbour across each edge of the triangles, -1 where there
// is none, for points 0 … n−1; the corners must be in range. The error names a
// directed edge that two triangles have.
func adjacency(triangles []int32, n int) ([]int32, error) {
	// List the directed edges by the vertex that they leave.
	start := make([]int32, n+1)
	for _, v := range triangles {
		start[v+1]++
	}
	for i := range n {
		start[i+1] += start[i]
	}
	list := make([]int32, len(triangles))
	fill := make([]int32, n)
	copy(fill, start)
	for k, v := range triangles {
		list[fill[v]] = int32(k)
		fill[v]++
	}
	adj := make([]int32, len(triangles))
	for k, v := range triangles {
		w := triangles[following(k)]
		adj[k] = -1
		for _, j := range list[start[w]:start[w+1]] {
			if triangles[following(int(j))] == v {
				adj[k] = j / 3
			}
		}
		for _, j := range list[start[v]:start[v+1]] {
			if int(j) < k && triangles[following(int(j))] == w {
				return nil, fmt.Errorf("triangles %d and %d have the edge from %d to %d in the same sense", j/3, k/3, v, w)
			}
		}
	}
	return adj, nil
}

// following is the place of the next corner of the triangle that place k is in.
func following(k int) int {
	if k%3 == 2 {
		return k - 2
	}
	return k + 1
}

// previous is the place of the corner before, in the same triangle.
func previous(k int) int {
	if k%3 == 0 {
		return k + 2
	}
	return k - 1
}
