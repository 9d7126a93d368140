//! The invented machines that come with the program: one of each kind that it was tried on.

/// An example machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Example {
    /// Short name, as typed in place of a file.
    pub name: &'static str,
    /// Its sheet.
    pub text: &'static str,
}

/// All of them, the demo machine first.
pub const EXAMPLES: &[Example] = &[
    Example { name: "water-heater", text: include_str!("../../../machines/garage-water-heater.toml") },
    Example { name: "water-heater-r290", text: include_str!("../../../machines/cellar-water-heater.toml") },
    Example { name: "split", text: include_str!("../../../machines/unitary-split.toml") },
    Example { name: "mini-split", text: include_str!("../../../machines/wall-mini-split.toml") },
    Example { name: "refrigerator", text: include_str!("../../../machines/kitchen-refrigerator.toml") },
    Example { name: "dehumidifier", text: include_str!("../../../machines/basement-dehumidifier.toml") },
];

/// Finds an example by its name; "demo" is the first.
pub fn example(name: &str) -> Option<&'static Example> {
    EXAMPLES.iter().find(|e| e.name == name).or_else(|| EXAMPLES.first().filter(|_| name == "demo"))
}
