// Package report is the last stage: results go in, text, JSON, CSV, Markdown and
// one HTML page come out.
//
// It recomputes nothing. Every number that it prints was handed in; it chooses
// digits, units of display (mm for shifts, % for fractions) and order, no more.
// The order is always the same: verdict, drag by method and term, regions, shape
// of the wake, uncertainty, reference and method, warnings with their cures.
//
// Text for people shows signs on all differences, prints a value to the last
// digit of its expanded uncertainty, of which two digits are shown (JCGM
// 100:2008, 7.2.6), and sets a true minus. JSON and CSV carry the shortest
// decimal that reads back as the same number, with an ASCII minus.
//
// The same input gives the same bytes. Names from files are data: control
// characters in them are shown, not sent, and the page escapes them all.
package report
