// Package compare sets variants against a baseline at one station: differences of
// drag, area and place, each with an interval and a verdict.
//
// In go survey planes, the baseline first; out comes a Comparison. Every plane is
// measured on the same samples and in the same window, so that what they share
// (reference, window, spacing) cancels in the differences. Where the planes do
// not have the same samples, each is measured on its own, clipped to the window that
// all have, and the variants are interpolated at the baseline's samples for maps alone.
package compare
