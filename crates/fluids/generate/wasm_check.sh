#!/bin/sh
# Size of the refrigerant code in WebAssembly, and whether it gives the same bits there as natively.
#
#   sh wasm_check.sh        needs the wasm32-unknown-unknown target and, for the second part, node
#
# Builds a throw-away crate that exports every kind of call on every refrigerant (an exported symbol needs an `unsafe`
# attribute, which the project itself forbids), and a native program over the same points; both print one hash.
set -eu
fluids=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/src"
cat > "$work/Cargo.toml" <<TOML
[package]
name = "probe"
version = "0.0.0"
edition = "2024"
[lib]
crate-type = ["cdylib", "rlib"]
[dependencies]
halfsplit-fluids = { path = "$fluids" }
[profile.release]
lto = true
codegen-units = 1
panic = "abort"
strip = "debuginfo"
[workspace]
TOML
cat > "$work/src/lib.rs" <<'RUST'
use halfsplit_fluids::refrigerant::Refrigerant;

fn mix(hash: &mut u64, value: f64) {
    // NaN has many bit patterns; none is expected here.
    *hash = (*hash ^ value.to_bits()).wrapping_mul(0x0000_0100_0000_01b3).rotate_left(17);
}

#[unsafe(no_mangle)]
pub extern "C" fn hash() -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325;
    for r in Refrigerant::ALL {
        for i in 0..60 {
            let p = 15e3 * (1.0 + 0.12 * f64::from(i) * f64::from(i));
            if let Ok(s) = r.saturation(p) {
                for v in [s.bubble.t, s.bubble.rho, s.bubble.h, s.dew.t, s.dew.h, s.dew.s] {
                    mix(&mut hash, v);
                }
            }
            for j in 0..60 {
                if let Ok(state) = r.state_pt(p, 210.0 + 4.0 * f64::from(j)) {
                    for v in [state.rho, state.h, state.s, state.u] {
                        mix(&mut hash, v);
                    }
                    let response = state.response.expect("one phase");
                    mix(&mut hash, response.cp);
                    mix(&mut hash, response.speed_of_sound);
                    for other in [r.state_ph(p, state.h), r.state_ps(p, state.s)] {
                        match other {
                            Ok(other) => mix(&mut hash, other.t),
                            Err(_) => mix(&mut hash, 1.0),
                        }
                    }
                }
            }
        }
    }
    hash
}
RUST
mkdir "$work/src/bin"
echo 'fn main() { println!("{:016x}", probe::hash()); }' > "$work/src/bin/native.rs"
cd "$work"
export CARGO_TARGET_DIR="$work/target"
cargo build -q --release --lib --target wasm32-unknown-unknown
wasm="$work/target/wasm32-unknown-unknown/release/probe.wasm"
echo "wasm: $(wc -c < "$wasm") bytes, gzip -9: $(gzip -9 -c "$wasm" | wc -c) bytes"
native=$(cargo run -q --release --bin native)
echo "native hash $native"
if command -v node > /dev/null; then
    in_wasm=$(node -e '
        const bytes = require("fs").readFileSync(process.argv[1]);
        WebAssembly.instantiate(bytes, {}).then(({ instance }) =>
            console.log(BigInt.asUintN(64, instance.exports.hash()).toString(16).padStart(16, "0")));
    ' "$wasm")
    echo "wasm   hash $in_wasm"
    test "$native" = "$in_wasm" || { echo "the bits differ"; exit 1; }
fi
