//! The manual of the part library, page by page.

use halfsplit_machine::library::{CLASSES, class, manual, nearest};

use crate::error::{JobError, What};

/// The classes: name and what such parts are for.
#[must_use]
pub fn classes() -> Vec<(&'static str, &'static str)> {
    CLASSES.iter().map(|c| (c.name, c.purpose)).collect()
}

/// The manual page of a class, Markdown.
///
/// # Errors
/// If there is no such class, with the nearest one.
pub fn class_page(name: &str) -> Result<String, JobError> {
    class(name).map(manual::page).ok_or_else(|| {
        JobError::new(
            What::NoSuchName,
            format!("the library has no part class \"{name}\""),
            format!("did you mean \"{}\"? halfsplit library lists them all", nearest(name).name),
        )
    })
}
