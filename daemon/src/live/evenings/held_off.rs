//! Named evenings: a person forgets to go on after `hold`, or stops the work by Ctrl-C.
