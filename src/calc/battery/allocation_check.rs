//! What is wrong with the packs, channels, feeds and bouts of an allocation.

use super::bout_load::check_used;
use super::pack::check_soc;
use super::pack_allocation::{
    AllocationBout, AllocationPack, ChargeChannel, MainsFeed, PackAllocationInput,
};
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Latest moment of a plan, min: two weeks.
const LATEST_MIN: f64 = 20_000.0;

/// Every fault of the input.
pub(super) fn check(input: &PackAllocationInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    let packs: Vec<&str> = input.packs.iter().map(|pack| pack.name.as_str()).collect();
    let channels: Vec<&str> = input
        .channels
        .iter()
        .map(|channel| channel.name.as_str())
        .collect();
    let feeds: Vec<&str> = input.feeds.iter().map(|feed| feed.name.as_str()).collect();
    let bouts: Vec<&str> = input.bouts.iter().map(|bout| bout.name.as_str()).collect();
    let lists = [
        ("packs", &packs, 1, 200),
        ("channels", &channels, 0, 40),
        ("feeds", &feeds, 0, 40),
        ("bouts", &bouts, 1, 100),
    ];
    for (list, listed, least, most) in lists {
        let at = format!("/{list}");
        names::count(&mut faults, &at, listed.len(), least, most, list);
    }
    // The work of what follows grows with the lengths multiplied.
    if !faults.is_empty() {
        return faults.check();
    }
    for (list, listed, ..) in lists {
        names::distinct(&mut faults, listed.iter().copied(), |index| {
            format!("/{list}/{index}/name")
        });
    }
    for (index, pack) in input.packs.iter().enumerate() {
        check_pack(pack, &format!("/packs/{index}"), &mut faults);
    }
    for (index, channel) in input.channels.iter().enumerate() {
        check_channel(channel, &feeds, &format!("/channels/{index}"), &mut faults);
    }
    for (index, feed) in input.feeds.iter().enumerate() {
        check_feed(feed, &format!("/feeds/{index}"), &mut faults);
    }
    for (index, bout) in input.bouts.iter().enumerate() {
        check_bout(bout, &packs, &format!("/bouts/{index}"), &mut faults);
    }
    input.limits.check("/limits", &mut faults);
    faults.check()
}

fn check_pack(told: &AllocationPack, at: &str, faults: &mut Faults) {
    let pack = &told.pack;
    pack.check(&format!("{at}/pack"), faults);
    pack.check_resistance(told.cell_ir_mohm, &format!("{at}/cell_ir_mohm"), faults);
    for (name, value) in [
        ("charge_resistance_mohm", told.charge_resistance_mohm),
        ("load_resistance_mohm", told.load_resistance_mohm),
    ] {
        if let Some(mohm) = value {
            pack.check_resistance(mohm, &format!("{at}/{name}"), faults);
        }
    }
    check_soc(told.soc_fraction, &format!("{at}/soc_fraction"), faults);
    faults.range(
        format!("{at}/released_min"),
        told.released_min,
        0.0,
        LATEST_MIN,
    );
    faults.range(
        format!("{at}/equivalent_full_cycles"),
        told.equivalent_full_cycles,
        0.0,
        10_000.0,
    );
    if let Some(rate) = told.most_charge_rate_c {
        faults.range(format!("{at}/most_charge_rate_c"), rate, 0.05, 10.0);
    }
}

fn check_channel(channel: &ChargeChannel, feeds: &[&str], at: &str, faults: &mut Faults) {
    faults.range(format!("{at}/charger_a"), channel.charger_a, 0.05, 200.0);
    faults.range(
        format!("{at}/free_from_min"),
        channel.free_from_min,
        0.0,
        LATEST_MIN,
    );
    if let Some(watts) = channel.charger_w {
        faults.range(format!("{at}/charger_w"), watts, 1.0, 10_000.0);
    }
    if let Some(cells) = channel.most_series_cells {
        faults.range(
            format!("{at}/most_series_cells"),
            f64::from(cells),
            1.0,
            24.0,
        );
    }
    for (name, value) in [
        ("efficiency", channel.efficiency),
        ("power_factor", channel.power_factor),
    ] {
        if let Some(value) = value {
            faults.range(format!("{at}/{name}"), value, 0.3, 1.0);
        }
    }
    for (index, feed) in channel.feeds.iter().enumerate() {
        names::place(faults, format!("{at}/feeds/{index}"), feeds, feed);
    }
    names::distinct(faults, channel.feeds.iter().map(String::as_str), |index| {
        format!("{at}/feeds/{index}")
    });
}

fn check_feed(feed: &MainsFeed, at: &str, faults: &mut Faults) {
    faults.range(format!("{at}/volts_v"), feed.volts_v, 90.0, 260.0);
    faults.range(format!("{at}/rating_a"), feed.rating_a, 1.0, 3000.0);
    faults.range(format!("{at}/other_a"), feed.other_a, 0.0, 3000.0);
    if let Some(share) = feed.planned_share {
        faults.range(format!("{at}/planned_share"), share, 0.1, 1.0);
    }
    let loads = format!("{at}/loads");
    names::count(faults, &loads, feed.loads.len(), 0, 200, "loads");
    for (index, load) in feed.loads.iter().enumerate() {
        let at = format!("{loads}/{index}");
        faults.range(format!("{at}/load_a"), load.load_a, 0.0, 3000.0);
        faults.range(format!("{at}/from_min"), load.from_min, 0.0, LATEST_MIN);
        faults.range(format!("{at}/to_min"), load.to_min, 0.0, LATEST_MIN);
        if load.to_min <= load.from_min {
            faults.add(
                format!("{at}/to_min"),
                format!(
                    "It ends at {} min, not after it begins at {} min.",
                    load.to_min, load.from_min
                ),
            );
        }
    }
}

fn check_bout(bout: &AllocationBout, packs: &[&str], at: &str, faults: &mut Faults) {
    for (name, value, max) in [
        ("call_min", bout.call_min, LATEST_MIN),
        ("fitting_min", bout.fitting_min, 600.0),
        ("ends_min", bout.ends_min, LATEST_MIN),
        ("inspection_min", bout.inspection_min, 600.0),
        ("cool_down_min", bout.cool_down_min, 600.0),
        ("peak_a", bout.peak_a, 3000.0),
    ] {
        faults.range(format!("{at}/{name}"), value, 0.0, max);
    }
    if bout.ends_min < bout.call_min {
        faults.add(
            format!("{at}/ends_min"),
            format!(
                "It ends at {} min, before its call at {} min.",
                bout.ends_min, bout.call_min
            ),
        );
    }
    faults.range(
        format!("{at}/packs_needed"),
        f64::from(bout.packs_needed),
        1.0,
        12.0,
    );
    check_used(bout.used_ah, format!("{at}/used_ah"), faults);
    names::count(
        faults,
        &format!("{at}/packs"),
        bout.packs.len(),
        0,
        60,
        "packs",
    );
    for (index, pack) in bout.packs.iter().enumerate() {
        names::place(faults, format!("{at}/packs/{index}"), packs, pack);
    }
}
