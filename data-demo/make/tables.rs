//! The generated CSV files.

use crate::plant::{AS_OF, Winding};
use crate::simulate::Test;

const HISTORY: &str = "work_order,winding,tested_on,connection,scope,test_volts,output_volts,\
r_15s,r_30s,r_60s,r_2min,r_3min,r_4min,r_5min,r_6min,r_7min,r_8min,r_9min,r_10min,\
winding_temp_c,air_temp_c,rh_percent,instrument,full_scale,lead_check,event,note\n";

/// One cell, quoted where CSV asks for it.
fn cell(text: &str) -> String {
    if text.contains([',', '"', '\n']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}

fn line(cells: &[&str]) -> String {
    let cells: Vec<String> = cells.iter().map(|c| cell(c)).collect();
    cells.join(",") + "\n"
}

/// `history.csv`.
pub(crate) fn history(tests: &[Test]) -> String {
    let mut text = HISTORY.to_owned();
    for t in tests {
        let (date, volts) = (t.date.to_string(), t.test_volts.to_string());
        let mut cells = vec![t.work_order.as_str(), t.winding, &date, t.connection, t.scope, &volts, &t.output_volts];
        cells.extend(t.timed.iter().map(String::as_str));
        cells.extend([t.winding_temp_c.as_str(), &t.air_temp_c, &t.rh_percent]);
        cells.extend([t.instrument, t.full_scale, t.lead_check, t.event, t.note]);
        text += &line(&cells);
    }
    text
}

/// `register.csv`.
pub(crate) fn register(windings: &[Winding]) -> String {
    let mut text = "winding,site,area,description,rated_volts,rated_kw,construction,insulation,thermal_class,\
year_made,interval_days,minimum_mohm,minimum_basis,group,criticality\n"
        .to_owned();
    for w in windings.iter().filter(|w| w.in_register) {
        text += &line(&[
            w.id,
            "Vennick Tarn",
            w.area.name(),
            w.description,
            &w.rated_volts.to_string(),
            &w.rated_kw.to_string(),
            w.construction,
            w.insulation,
            w.thermal_class,
            &w.year_made.to_string(),
            &w.interval_days.to_string(),
            &w.minimum_mohm.map(|m| m.to_string()).unwrap_or_default(),
            w.minimum_mohm.map_or("", |_| "reference"),
            w.group,
            w.criticality,
        ]);
    }
    text
}

/// `truth.csv`: what no planner would know.
pub(crate) fn truth(windings: &[Winding]) -> String {
    let mut text =
        "winding,connection,scope,level_mohm,slope_log10_per_year,minimum_mohm,reaches_minimum,expected_action\n"
            .to_owned();
    for w in windings {
        let minimum = if w.in_register { w.minimum().0.to_string() } else { String::new() };
        for s in &w.series {
            let shape = s.shape(AS_OF);
            let level = shape.log10(AS_OF);
            let slope = (level - shape.log10(AS_OF - 0.01)) / 0.01;
            let limit = w.minimum().0.log10();
            let crossing = (0..360).map(|month| AS_OF + f64::from(month) / 12.0).find(|&t| shape.log10(t) <= limit);
            let crossing = match crossing {
                Some(t) if w.in_register && t > AS_OF => {
                    let months = (t * 12.0).floor();
                    format!("{:.0}-{:02.0}", (months / 12.0).floor(), months.rem_euclid(12.0) + 1.0)
                }
                Some(_) if w.in_register => "already below".to_owned(),
                _ => String::new(),
            };
            text += &line(&[
                w.id,
                s.connection,
                s.scope,
                &crate::physics::significant(10f64.powf(level), 3),
                &format!("{slope:.3}").replace("-0.000", "0.000"),
                &minimum,
                &crossing,
                s.expected,
            ]);
        }
    }
    text
}
