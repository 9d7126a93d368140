//! Writes a pressure-enthalpy picture with an expected and a measured cycle: `ph_picture R410A [dark] > picture.svg`.

use std::error::Error;

use halfsplit_fluids::refrigerant::{
    CycleKind, PhCycle, PhOptions, PhPoint, Refrigerant, RefrigerantError, Theme, ph_svg,
};

/// A cycle from evaporating and condensing pressure (Pa), superheat, liquid and discharge temperature (K).
fn cycle(
    r: Refrigerant,
    (low, high): (f64, f64),
    superheat: f64,
    t_liquid: f64,
    t_discharge: f64,
) -> Result<Vec<PhPoint>, RefrigerantError> {
    let suction = r.state_pt(low, r.dew_temperature(low)? + superheat)?;
    let discharge = r.state_pt(high, t_discharge)?;
    let liquid = r.state_pt(high, t_liquid)?;
    let corners = [("1", low, suction.h), ("2", high, discharge.h), ("3", high, liquid.h), ("4", low, liquid.h)];
    Ok(corners.into_iter().map(|(label, p, h)| PhPoint { label: label.into(), p, h }).collect())
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let name = arguments.next().unwrap_or_else(|| "R410A".into());
    let r = Refrigerant::from_designation(&name).ok_or("unknown refrigerant")?;
    let theme = match arguments.next().as_deref() {
        Some("dark") => Theme::Dark,
        Some("light") => Theme::Light,
        _ => Theme::Auto,
    };
    let (expected, measured) = if r == Refrigerant::R744 {
        (
            cycle(r, (r.dew_pressure(272.0)?, 9.5e6), 5.0, 303.0, 368.0)?,
            cycle(r, (r.dew_pressure(266.0)?, 9.0e6), 12.0, 306.0, 388.0)?,
        )
    } else {
        (
            cycle(r, (r.dew_pressure(280.0)?, r.bubble_pressure(318.0)?), 6.0, 312.0, 345.0)?,
            cycle(r, (r.dew_pressure(271.0)?, r.bubble_pressure(314.0)?), 16.0, 312.5, 362.0)?,
        )
    };
    let cycles = [
        PhCycle { name: "expected".into(), kind: CycleKind::Expected, points: expected },
        PhCycle { name: "measured".into(), kind: CycleKind::Measured, points: measured },
    ];
    let options = PhOptions { theme, title: "expected and measured cycle".into(), ..PhOptions::default() };
    print!("{}", ph_svg(r, &cycles, &options)?);
    Ok(())
}
