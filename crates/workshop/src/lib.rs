//! The one door to the engine: a job takes events and answers with views.
