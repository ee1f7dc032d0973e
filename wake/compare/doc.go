// Package compare sets variants against a baseline at one station: differences of
// drag, area and place, each with an interval and a verdict.
//
// In go survey planes, the baseline first; out comes a Comparison. Every plane is
// measured on the same samples and in the same window, so that what they share
// (reference, window, spacing) cancels in the differences. Where the planes do
// not have the same samples, the variants are interpolated linearly at the
// baseline's, and the result says so.
package compare
