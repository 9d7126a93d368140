//! Symbols, after IEC 60617 where it has one: each sixteen to either side of its middle, eleven up and down at most.

use crate::picture::{Picture, number};
use crate::wiring::graph::Symbol;

/// Half the width of a symbol.
pub(super) const HALF: f64 = 16.0;

/// Draws a symbol about a point. `closed` is for contacts, `forward` (first terminal on the left) for diodes.
pub(super) fn draw(p: &mut Picture, symbol: Symbol, x: f64, y: f64, closed: bool, forward: bool) {
    let at = |dx: f64, dy: f64| format!("{} {}", number(x + dx), number(y + dy));
    match symbol {
        Symbol::Relay | Symbol::Breaker | Symbol::CutOff | Symbol::Float => {
            let (tip_x, tip_y) = if closed { (11.0, 0.0) } else { (9.0, -10.0) };
            p.path("l m", &format!("M{}L{}L{}", at(-HALF, 0.0), at(-11.0, 0.0), at(tip_x, tip_y)));
            p.path("l m", &format!("M{}L{}M{}L{}", at(11.0, 0.0), at(HALF, 0.0), at(11.0, -4.0), at(11.0, 4.0)));
            match symbol {
                // A cross on the fixed side: breaks by itself.
                Symbol::Breaker => p.path(
                    "l",
                    &format!("M{}L{}M{}L{}", at(-14.0, -3.5), at(-7.0, 3.5), at(-14.0, 3.5), at(-7.0, -3.5)),
                ),
                // A step in a thin line from the blade: works by heat.
                Symbol::CutOff => p.path("l", &format!("M{}v-5h5v-4", at(-1.0, if closed { 0.0 } else { -5.0 }))),
                Symbol::Float => p.circle("l", x, y + 7.0, 3.5),
                _ => {}
            }
        }
        Symbol::Fuse => {
            p.rect("l m", x - 13.0, y - 5.0, 26.0, 10.0, 0.0);
            p.line("l", x - HALF, y, x + HALF, y);
        }
        Symbol::Plug => {
            p.line("l", x - HALF, y, x - 1.0, y);
            p.path("l m", &format!("M{}L{}L{}", at(-6.0, -6.0), at(0.0, 0.0), at(-6.0, 6.0)));
            p.path("l m", &format!("M{}L{}L{}", at(0.0, -6.0), at(6.0, 0.0), at(0.0, 6.0)));
            p.line("l", x + 6.0, y, x + HALF, y);
        }
        // Dashed, and broken where it is not there as drawn.
        Symbol::Link => {
            let gap = if closed { 0.0 } else { 5.0 };
            p.line("l d", x - HALF, y, x - gap, y);
            p.line("l d", x + gap, y, x + HALF, y);
        }
        Symbol::Coil => {
            p.rect("l m", x - 10.0, y - 9.0, 20.0, 18.0, 0.0);
            p.path("l", &format!("M{}h-6M{}h6M{}L{}", at(-10.0, 0.0), at(10.0, 0.0), at(-5.0, 9.0), at(5.0, -9.0)));
        }
        Symbol::Heater => {
            p.rect("l m", x - 14.0, y - 5.0, 28.0, 10.0, 0.0);
            p.path("l", &format!("M{}v10M{}v10M{}v10", at(-7.0, -5.0), at(0.0, -5.0), at(7.0, -5.0)));
            p.path("l", &format!("M{}h-2M{}h2", at(-14.0, 0.0), at(14.0, 0.0)));
        }
        Symbol::Winding => {
            p.path("l m", &format!("M{}a4 4 0 0 1 8 0a4 4 0 0 1 8 0a4 4 0 0 1 8 0a4 4 0 0 1 8 0", at(-16.0, 0.0)));
        }
        Symbol::Motor => {
            p.circle("l m", x, y, 10.5);
            p.path("l m", &format!("M{}v-8l4 5l4 -5v8", at(-4.0, 4.0)));
            p.path("l", &format!("M{}h-5.5M{}h5.5", at(-10.5, 0.0), at(10.5, 0.0)));
        }
        Symbol::Capacitor => {
            p.path("l m", &format!("M{}v18M{}v18", at(-3.0, -9.0), at(3.0, -9.0)));
            p.path("l", &format!("M{}h13M{}h13", at(-16.0, 0.0), at(3.0, 0.0)));
        }
        Symbol::Sensor => {
            p.rect("l m", x - 13.0, y - 5.0, 26.0, 10.0, 0.0);
            p.path("l", &format!("M{}h-3M{}h3M{}h5L{}", at(-13.0, 0.0), at(13.0, 0.0), at(-14.0, 9.0), at(10.0, -9.0)));
        }
        Symbol::Diode => {
            let way = if forward { 1.0 } else { -1.0 };
            let d = format!(
                "M{}L{}L{}ZM{}L{}",
                at(-7.0 * way, -8.0),
                at(-7.0 * way, 8.0),
                at(7.0 * way, 0.0),
                at(7.0 * way, -8.0),
                at(7.0 * way, 8.0)
            );
            p.path("l m", &d);
            p.line("l", x - HALF, y, x + HALF, y);
        }
        Symbol::Load => {
            p.rect("l m", x - 13.0, y - 8.0, 26.0, 16.0, 0.0);
            p.path("l", &format!("M{}h-3M{}h3", at(-13.0, 0.0), at(13.0, 0.0)));
        }
    }
}
