package shift

import "math"

// mostAlong is the largest part of its own shift that a mask may give to the move in it:
// beyond it the border says more of the move than the wake does.
const mostAlong = 0.9

// beside is the move of a part that touches a neighbour. There the mask ends at a border
// with weight on both sides. Where the border goes along with the part, a fixed mask shows
// too little of the move, still; where it stays, that is all of it. A mask that goes along
// shows the d with
//
//	d = y(n),  n = d/Δy
//
// where y(n) is the move with the mask of the second field n columns further, linear
// between whole n. The move is the middle between both, and spread half their distance.
// Where there is no such d the fixed mask counts, and spread is 0.
func (w *window) beside(by func(w *window) *measured, still *measured) (m *measured, spread float64) {
	const most = 6
	moves := map[int]*measured{0: still} // by columns along
	along := func(n int) *measured {
		if moves[n] == nil {
			v := *w
			v.along = n
			moves[n] = by(&v)
		}
		return moves[n]
	}
	n := math.Floor(still.y / w.r.DX)
	for range most {
		a, b := along(int(n)), along(int(n)+1)
		slope := (b.y - a.y) / w.r.DX
		if a.why != "" || b.why != "" || !(slope < mostAlong) {
			break
		}
		d := (a.y - slope*n*w.r.DX) / (1 - slope)
		part := d/w.r.DX - n
		if part < 0 || part > 1 {
			if n += math.Floor(part); math.Abs(n) < float64(w.r.NX) {
				continue
			}
			break
		}
		m = w.newMeasured()
		m.y, m.z, m.rows, m.rowVar = (still.y+d)/2, still.z, still.rows, still.rowVar
		for c := range m.gain {
			for k := range m.gain[c] {
				along := ((1-part)*a.gain[c][k] + part*b.gain[c][k]) / (1 - slope)
				m.gain[c][k] = (still.gain[c][k] + along) / 2
			}
		}
		return m, math.Abs(d-still.y) / 2
	}
	return still, 0
}

// touches reports whether a place of the mask is another structure's too, or the next one
// along y or z is.
func (w *window) touches() bool {
	nx := w.r.NX
	for k, in := range w.mask {
		if in && (w.contested[k] || k%nx > 0 && w.contested[k-1] || k%nx < nx-1 && w.contested[k+1] ||
			k >= nx && w.contested[k-nx] || k+nx < len(w.mask) && w.contested[k+nx]) {
			return true
		}
	}
	return false
}
