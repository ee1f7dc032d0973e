package waketest

import "math"

// swirl is the part of a point vortex or source that a Gaussian core of radius a
// leaves at distance² r2, over r²: (1−exp(−r²/a²))/2πr², finite in the centre.
func swirl(r2, a float64) float64 {
	if r2 == 0 {
		return 1 / (2 * math.Pi * a * a)
	}
	return -math.Expm1(-r2/(a*a)) / (2 * math.Pi * r2)
}

// VortexPair is a pair of Lamb–Oseen vortices (H. Lamb, Hydrodynamics (1932) §334a,
// from memory) v_θ = Γ/2πr (1−exp(−r²/a²)): +gamma at (span/2, height), −gamma at
// (−span/2, height). With gamma > 0 the flow between them goes down, as behind a
// body with lift.
func VortexPair(gamma, span, core, height float64) Field {
	return func(y, z float64) State {
		dz := z - height
		right, left := y-span/2, y+span/2
		a, b := gamma*swirl(right*right+dz*dz, core), -gamma*swirl(left*left+dz*dz, core)
		return State{U: 1, V: -dz * (a + b), W: right*a + left*b}
	}
}
