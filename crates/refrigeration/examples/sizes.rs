//! The sizes of the water heater of the cross-check, for `reference/cycle.py`:
//! `cargo run -p halfsplit-refrigeration --example sizes > crates/refrigeration/reference/sizes.txt`.

#[path = "../tests/machines/mod.rs"]
mod machines;

fn main() {
    print!("{}", machines::sizes(&machines::water_heater().machine));
}
