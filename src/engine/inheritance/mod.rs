//! one cross
