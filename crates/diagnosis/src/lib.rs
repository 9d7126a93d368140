//! Joins plant and inference: what is still possible, what to test next, and why.
