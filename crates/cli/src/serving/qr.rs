//! A QR code in half blocks: two modules in one character, one above the other.

use qrcode::{Color, EcLevel, QrCode};

/// Light modules around the code that readers need (ISO/IEC 18004, section 9.1, from memory).
const QUIET: usize = 4;

/// Draws a text. In colour it is black on white whatever the terminal's own colours are. Without, light modules are
/// drawn in the colour of the text: right on a dark background; on a light one it is inverted, which many readers take.
/// Empty if the text is too long for a code.
pub fn drawn(text: &str, colour: bool) -> String {
    let Ok(code) = QrCode::with_error_correction_level(text, EcLevel::L) else { return String::new() };
    let side = code.width() + 2 * QUIET;
    let light = |x: usize, y: usize| {
        let inside = |n: usize| (QUIET..side - QUIET).contains(&n);
        !(inside(x) && inside(y) && code[(x - QUIET, y - QUIET)] == Color::Dark)
    };
    let mut out = String::new();
    for y in (0..side).step_by(2) {
        let line: String = (0..side).map(|x| block(light(x, y), light(x, y + 1))).collect();
        // White text on black, from the fixed part of the palette of 256 colours, which themes leave alone.
        out.push_str(&if colour { format!("\x1b[38;5;231;48;5;16m{line}\x1b[0m\n") } else { format!("{line}\n") });
    }
    out
}

fn block(upper: bool, lower: bool) -> char {
    match (upper, lower) {
        (true, true) => '█',
        (true, false) => '▀',
        (false, true) => '▄',
        (false, false) => ' ',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read by another library than the one that made it, from what stands on the screen.
    fn read(drawing: &str) -> String {
        let rows: Vec<Vec<char>> = drawing.lines().map(|l| l.chars().collect()).collect();
        let side = rows[0].len();
        let light = |x: usize, y: usize| match rows[y / 2][x] {
            '█' => true,
            '▀' => y.is_multiple_of(2),
            '▄' => !y.is_multiple_of(2),
            _ => false,
        };
        // Several pixels for a module, as a camera has them.
        const PIXELS: usize = 4;
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(side * PIXELS, side * PIXELS, |x, y| {
            if light(x / PIXELS, y / PIXELS) { 255 } else { 0 }
        });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        grids[0].decode().expect("readable").1
    }

    #[test]
    fn a_reader_reads_the_address() {
        for address in ["http://192.168.1.20:4180/trust", "https://[fd00::2]:4180/", "http://10.0.0.1:4180/"] {
            assert_eq!(read(&drawn(address, false)), address);
        }
    }

    #[test]
    fn colours_only_where_they_are_wanted() {
        let (plain, coloured) = (drawn("http://10.0.0.1/", false), drawn("http://10.0.0.1/", true));
        assert!(!plain.contains('\x1b'));
        let stripped = coloured.replace("\x1b[38;5;231;48;5;16m", "").replace("\x1b[0m", "");
        assert_eq!(stripped, plain);
    }

    #[test]
    fn what_is_too_long_is_not_drawn() {
        assert_eq!(drawn(&"x".repeat(4000), false), "");
    }
}
