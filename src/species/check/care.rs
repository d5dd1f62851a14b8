//! Rules for care numbers.

use super::Check;
use crate::species::care::{Months, Unit};
use crate::species::entries::SexSystemName;

pub(super) fn numbers(check: &mut Check<'_>) {
    let care = &check.file.care;
    for (key, unit, range) in care.items() {
        let Some(range) = range else { continue };
        if range.unit != unit {
            check.say("care", 0, key, format!("unit is {}; allowed: {}", range.unit.key(), unit.key()));
        }
        // Written so that a value that is no number fails too.
        if !(0.0 <= range.low
            && range.low <= range.default
            && range.default <= range.high
            && range.high < f64::INFINITY)
        {
            let what = format!(
                "low {}, default {}, high {} must be in this order, from 0",
                range.low, range.default, range.high
            );
            check.say("care", 0, key, what);
        }
        if unit == Unit::Share && range.high > 1.0 {
            check.say("care", 0, key, format!("a share is {}; allowed: 0 to 1", range.high));
        }
    }
    for (key, months) in [
        ("pairing_months", &care.pairing_months),
        ("laying_months", &care.laying_months),
        ("cooling_months", &care.cooling_months),
    ] {
        if let Some(months) = months {
            season(check, key, months);
        }
    }
    if !care.sex_by_temperature.is_empty() && check.file.meta.sex_system != SexSystemName::Temperature {
        let what = "is for species without sex chromosomes (sex_system = \"temperature\")";
        check.say("care", 0, "sex_by_temperature", what);
    }
    if !care.sex_by_temperature.is_sorted_by(|a, b| a.celsius < b.celsius) {
        check.say("care", 0, "sex_by_temperature", "write each temperature once, the coolest first");
    }
    for row in care.sex_by_temperature.iter().filter(|r| !(0.0..=1.0).contains(&r.male_share)) {
        check.say("care", 0, "sex_by_temperature", format!("male_share is {}; allowed: 0 to 1", row.male_share));
    }
}

fn season(check: &mut Check<'_>, key: &'static str, months: &Months) {
    for list in [&months.usual, &months.possible] {
        let mut sorted = list.clone();
        sorted.sort_unstable();
        sorted.dedup();
        if list.is_empty() || sorted.len() != list.len() || sorted.iter().any(|m| !(1..=12).contains(m)) {
            check.say("care", 0, key, format!("{list:?}; allowed: months from 1 to 12, each once, at least one"));
        }
    }
    if months.usual.iter().any(|m| !months.possible.contains(m)) {
        check.say("care", 0, key, "a usual month is missing in 'possible'");
    }
}
