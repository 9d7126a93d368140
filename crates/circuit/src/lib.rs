//! Netlists, their AC and DC solution, single-phase motors, and what a meter would show.
