//! Drawings that are computed: the wiring as a ladder with the probes' places, the refrigerant loop with what is expected
//! and measured, and the cut that the next test makes through what is still possible.
//!
//! Every drawing is a [`Picture`]: SVG in the colour of the text around it, so that a page decides about light and dark,
//! with a title and a description in words for those who do not see it. Weight, hatching, letters and figures carry the
//! meaning, colour never does. The cut is also text, for a terminal: [`cut::text`].
//!
//! Pure: the same view gives the same bytes everywhere. How wide letters are is estimated, a little too wide.

pub mod cut;
mod picture;
mod refrigerant_loop;
pub mod wiring;

pub use cut::cut;
pub use picture::{Anchor, Label, Picture, alone};
pub use refrigerant_loop::refrigerant_loop;
pub use wiring::wiring;
