//! What computes, in a worker of its own.

#[cfg(target_arch = "wasm32")]
mod desk;

#[cfg(target_arch = "wasm32")]
fn main() {}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("this program runs in a browser; build it for wasm32-unknown-unknown");
}
