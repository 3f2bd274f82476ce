//! Channels as lanes and circuits as curves.

use crate::calc::battery::MainsVerdict;
use crate::http::pages::charging::Curve;
use crate::http::pages::parts::lanes::{Bar, Lane, Plan, Progress};
use crate::http::pages::reader::Reader;
use crate::pit::ids::ChannelId;
use crate::pit::packs::table::{MainsNow, Table};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// What runs and what is to come, channel by channel.
pub fn lanes(reader: &Reader, table: &Table) -> Option<Plan> {
    if table.channels.is_empty() {
        return None;
    }
    let lane: BTreeMap<ChannelId, usize> = table
        .channels
        .iter()
        .enumerate()
        .map(|(n, channel)| (channel.id, n))
        .collect();
    let label = |pack| {
        reader
            .pit
            .packs
            .get(&pack)
            .map_or_else(|| "pack".to_owned(), |known| known.body.label.to_string())
    };
    let mut tasks: Vec<Bar> = Vec::new();
    for channel in &table.channels {
        for running in &channel.running {
            tasks.push(Bar {
                name: label(running.pack),
                who: String::new(),
                lanes: vec![lane[&channel.id]],
                start: running.since,
                end: running.until.max(reader.clock.now),
                eight_in_ten: None,
                progress: Progress::Running,
                decides: false,
                mine: false,
            });
        }
    }
    for charge in &table.to_charge {
        let bout = table.bouts.iter().find(|bout| bout.bout == charge.bout);
        let bout = bout.map_or_else(String::new, |bout| {
            format!(
                "for bout {}, from {}, ",
                bout.number,
                reader.clock.hm(charge.from)
            )
        });
        let lowered = if charge.lowered {
            ", lowered for the mains"
        } else {
            ""
        };
        tasks.push(Bar {
            name: label(charge.pack),
            who: format!("{bout}{:.1} A{lowered}", charge.amps),
            lanes: lane.get(&charge.channel).copied().into_iter().collect(),
            start: charge.from,
            end: charge.to,
            eight_in_ten: None,
            progress: Progress::Planned,
            decides: false,
            mine: false,
        });
    }
    tasks.sort_by_key(|bar| bar.start);
    let first = tasks.first().map_or(reader.clock.now, |bar| bar.start);
    Some(Plan {
        from: first.min(reader.clock.now),
        likely: None,
        call: None,
        lanes: table
            .channels
            .iter()
            .map(|channel| lane_of(reader, channel.id))
            .collect(),
        chain: Vec::new(),
        moved: None,
        tasks,
    })
}

fn lane_of(reader: &Reader, channel: ChannelId) -> Lane {
    let Some(known) = reader.pit.channels.get(&channel) else {
        return Lane {
            name: "channel".to_owned(),
            note: String::new(),
        };
    };
    Lane {
        name: known.body.label.to_string(),
        note: format!(
            "{} A, {} W",
            f64::from(known.body.max_current_ma.get()) / 1000.0,
            known.body.max_power_w.get()
        ),
    }
}

/// A circuit over time.
pub fn curve(reader: &Reader, mains: &MainsNow) -> Curve {
    let clock = reader.clock;
    let name = reader.pit.circuits.get(&mains.id).map_or_else(
        || "circuit".to_owned(),
        |known| known.body.label.to_string(),
    );
    let peak = |at: Option<DateTime<Utc>>| {
        let at = at.map_or_else(String::new, |at| format!(" at {}", clock.hm(at)));
        format!("Highest {:.1} A{at}", mains.peak.0)
    };
    let (verdict, over) = match mains.verdict {
        None => (
            "Its rating is not entered: nothing says what it carries.".to_owned(),
            false,
        ),
        Some(MainsVerdict::Within) => (
            format!("{}: within what is planned with.", peak(mains.peak.1)),
            false,
        ),
        Some(MainsVerdict::AbovePlanned) => (
            format!(
                "{}: above what is planned with, for less than three hours.",
                peak(mains.peak.1)
            ),
            true,
        ),
        Some(MainsVerdict::Over) => (
            format!(
                "{}: too much. Take a charger off, or set it lower.",
                peak(mains.peak.1)
            ),
            true,
        ),
    };
    Curve {
        name,
        rating: if mains.verdict.is_some() {
            format!("{:.0} A", mains.rating_a)
        } else {
            String::new()
        },
        verdict,
        over,
        limits: mains.verdict.map(|_| (mains.rating_a, mains.planned_a)),
        all: mains.all.clone(),
        running: mains.running.clone(),
    }
}
