//! Hypotheses, likelihoods, posteriors and the worth of a test; knows no trade.
