//! The record of a job: append-only events, their encoding, and replay.
