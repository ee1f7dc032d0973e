package grid

import "math"

// MostPlaces is how many places a raster that is laid over a survey has at most: the
// window over the sample distance, squared, grows without bound where one sample strays,
// samples stand in clusters, or their distances span decades.
const MostPlaces = 1 << 20

// RasterStep is the least step, not below h, at which a raster over the box has at most
// MostPlaces places.
func RasterStep(box Box, h float64) float64 {
	// (w/s + 2)(t/s + 2) = n, solved for 1/s without cancellation; the twos are the
	// border's places and what rounding up adds.
	w, t, n := box.Width(), box.Height(), float64(MostPlaces-4)
	s := ((w + t) + math.Sqrt((w+t)*(w+t)+n*w*t)) / n
	if !(s > h) {
		return h
	}
	return s
}
