//! What is seen.

#[cfg(target_arch = "wasm32")]
mod page;

#[cfg(target_arch = "wasm32")]
fn main() {
    page::open();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("this program runs in a browser; build it for wasm32-unknown-unknown");
}
