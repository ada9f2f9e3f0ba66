//! (opening follows)
