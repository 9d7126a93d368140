//! What is seen.

#[cfg(target_arch = "wasm32")]
mod closing;
#[cfg(target_arch = "wasm32")]
mod cut;
#[cfg(target_arch = "wasm32")]
mod drawing;
#[cfg(target_arch = "wasm32")]
mod entry;
#[cfg(target_arch = "wasm32")]
mod opening;
#[cfg(target_arch = "wasm32")]
mod page;
#[cfg(target_arch = "wasm32")]
mod photo;
#[cfg(target_arch = "wasm32")]
mod power;
#[cfg(target_arch = "wasm32")]
mod sheets;
#[cfg(target_arch = "wasm32")]
mod state;
#[cfg(target_arch = "wasm32")]
mod work;

#[cfg(target_arch = "wasm32")]
fn main() {
    page::open();
}

#[cfg(not(target_arch = "wasm32"))]
fn main() {
    eprintln!("this program runs in a browser; build it for wasm32-unknown-unknown");
}
