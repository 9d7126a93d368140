//! Repair or replace: money at different times made comparable.

use crate::known::Found;
use crate::refusal::{Refusal, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

fn rate(rate: f64) -> Result<f64, Refusal> {
    within("rate per period", rate, (0.0, 1.0), "(as a fraction)")
}

/// (1 + rate)^−periods: what a payment at the end is worth now. `rate` as a fraction per period.
///
/// # Errors
/// Refuses rates outside 0 to 1 and negative periods.
pub fn single_present_value(r: f64, periods: f64) -> Result<f64, Refusal> {
    within("periods", periods, (0.0, 1000.0), "")?;
    Ok(libm::pow(1.0 + rate(r)?, -periods))
}

/// What one unit of money at the end of each period is worth now, payments growing by `escalation` (a fraction) per period.
///
/// # Errors
/// Refuses rates outside 0 to 1 and periods not above zero.
pub fn uniform_present_value(r: f64, escalation: f64, periods: f64) -> Result<f64, Refusal> {
    let (d, e) = (rate(r)?, within("escalation", escalation, (-0.5, 1.0), "(as a fraction)")?);
    let n = positive("number of periods", periods, "")?;
    if d == e {
        return Ok(n);
    }
    Ok((1.0 + e) / (d - e) * (1.0 - libm::pow((1.0 + e) / (1.0 + d), n)))
}

/// Present value of flows at the ends of periods 0, 1, 2 …
///
/// # Errors
/// Refuses rates outside 0 to 1.
pub fn net_present_value(r: f64, flows: &[f64]) -> Result<f64, Refusal> {
    let d = rate(r)?;
    let mut factor = 1.0;
    let mut sum = 0.0;
    for flow in flows {
        sum += flow * factor;
        factor /= 1.0 + d;
    }
    Ok(sum)
}

/// A first cost and a yearly cost over some years as one equal amount a year.
///
/// # Errors
/// Refuses rates outside 0 to 1 and years not above zero.
pub fn annual_equivalent(r: f64, first: f64, annual: f64, years: f64) -> Result<f64, Refusal> {
    Ok(first / uniform_present_value(r, 0.0, years)? + annual)
}

const RATE: Input = Input::plain("rate", "discount rate per period, as a fraction", "1", Range::from_to(0.0, 1.0));
const PERIODS: Input = Input::plain("periods", "number of periods (years)", "1", Range::above_zero(1000.0));
const MONEY: Range = Range::from_to(-1e12, 1e12);
const SOURCE: &str = "NIST Handbook 135, Life-Cycle Costing Manual";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "money.present_value",
        title: "Present value factors",
        inputs: &[
            RATE,
            PERIODS,
            Input::plain("escalation", "growth of the yearly amount, as a fraction", "1", Range::from_to(-0.5, 1.0))
                .or(0.0),
        ],
        outputs: &[
            Output::plain("single", "of one payment at the end", "1"),
            Output::plain("uniform", "of a payment at the end of each period", "1"),
        ],
        formula: "single = (1+d)^−n; uniform = (1+e)/(d−e)·(1 − ((1+e)/(1+d))^n), n where e = d",
        source: SOURCE,
        validity: "payments at the ends of periods; real rates with real amounts, nominal with nominal",
        example: &[("rate", "0.03"), ("periods", "15"), ("escalation", "0.02")],
        compute: |k| {
            let (d, n) = (k.number("rate")?, k.number("periods")?);
            Ok(Found::number("single", single_present_value(d, n)?)
                .and("uniform", uniform_present_value(d, k.number("escalation")?, n)?))
        },
    },
    WorkingValue {
        id: "money.net_present_value",
        title: "Net present value of amounts year by year",
        inputs: &[RATE, Input::plains("flows", "amounts now, after one year, two …", "money", MONEY)],
        outputs: &[Output::plain("value", "worth now", "money")],
        formula: "Σ flow_n · (1+d)^−n, n from 0",
        source: SOURCE,
        validity: "amounts at the ends of years, the first one now",
        example: &[("rate", "0.05"), ("flows", "-1000, 300, 300, 300, 300")],
        compute: |k| Ok(Found::number("value", net_present_value(k.number("rate")?, k.numbers("flows"))?)),
    },
    WorkingValue {
        id: "money.per_year",
        title: "Repair or replace: cost as one equal amount a year",
        inputs: &[
            RATE,
            Input::plain("first", "cost now", "money", MONEY),
            Input::plain("annual", "cost each year", "money", MONEY),
            PERIODS,
        ],
        outputs: &[Output::plain("per_year", "equal amount a year", "money")],
        formula: "first / uniform factor + annual",
        source: SOURCE,
        validity: "the way to compare lives of different length",
        example: &[("rate", "0.05"), ("first", "450"), ("annual", "620"), ("periods", "4")],
        compute: |k| {
            let value =
                annual_equivalent(k.number("rate")?, k.number("first")?, k.number("annual")?, k.number("periods")?)?;
            Ok(Found::number("per_year", value))
        },
    },
];
