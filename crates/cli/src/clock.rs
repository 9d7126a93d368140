//! Time, chance and names, for clients only.

use std::hash::{BuildHasher, Hasher};
use std::time::SystemTime;

/// Now, RFC 3339 in UTC to the second.
pub fn now() -> String {
    humantime::format_rfc3339_seconds(SystemTime::now()).to_string()
}

/// A number that nobody else has: the standard library seeds its hasher from the system.
pub fn chance() -> u64 {
    std::collections::hash_map::RandomState::new().build_hasher().finish()
}

/// The name of a new job: when it was begun, and three letters against a double.
pub fn job_name() -> String {
    let now = now();
    let mut n = chance();
    let letters: String = (0..3)
        .map(|_| {
            let letter = b"abcdefghkmnprstwxyz"[(n % 19) as usize];
            n /= 19;
            letter as char
        })
        .collect();
    format!("{}-{}{}-{letters}", &now[..10], &now[11..13], &now[14..16])
}

/// Who is at the keyboard, as the system knows him.
pub fn me() -> String {
    std::env::var("USER").or_else(|_| std::env::var("USERNAME")).ok().filter(|u| !u.is_empty()).unwrap_or_else(|| "technician".into())
}
