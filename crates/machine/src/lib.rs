//! Machine sheets, the part library, conditions and the vocabulary of tests and readings.
