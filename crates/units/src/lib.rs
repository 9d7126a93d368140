//! Quantities at the edges of halfsplit: temperatures against differences, gauge against absolute.
