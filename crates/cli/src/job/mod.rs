//! The job in the terminal.

pub mod json_lines;
pub mod opening;
pub mod prompt;
pub mod session;
pub mod show;
pub mod talk;
