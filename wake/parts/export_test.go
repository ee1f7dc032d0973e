package parts

// Thin is thin, for tests of what no survey in waketest has.
var Thin = thin
