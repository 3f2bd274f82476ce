//! Allocations against worked days and against their own rules.

use std::collections::HashMap;

use super::*;

/// A pack that charges on `channel()` for about `minutes`, with its planning margin.
pub(super) fn pack(name: &str, minutes: f64) -> AllocationPack {
    let mut pack = AllocationPack {
        name: name.to_owned(),
        pack: PackBuild {
            chemistry: Chemistry::Lipo,
            series_cells: 6,
            parallel_cells: 1,
            cell_capacity_ah: 5.0,
        },
        cell_ir_mohm: 5.0,
        charge_resistance_mohm: Some(20.0),
        load_resistance_mohm: None,
        soc_fraction: 0.0,
        released_min: 0.0,
        equivalent_full_cycles: 0.0,
        most_charge_rate_c: None,
        suspect: false,
    };
    let (mut low, mut high) = (0.0, 0.95);
    for _ in 0..60 {
        pack.soc_fraction = f64::midpoint(low, high);
        if minutes_alone(&pack) > minutes {
            low = pack.soc_fraction;
        } else {
            high = pack.soc_fraction;
        }
    }
    pack
}

/// Planned minutes of a pack on an otherwise idle channel.
pub(super) fn minutes_alone(pack: &AllocationPack) -> f64 {
    let mut pack = pack.clone();
    pack.released_min = 0.0;
    let name = pack.name.clone();
    let input = PackAllocationInput {
        packs: vec![pack],
        channels: vec![channel("1")],
        feeds: Vec::new(),
        bouts: vec![bout("b", 0.0, &[&name])],
        limits: ServingLimits::default(),
    };
    let output = pack_allocation(&input).unwrap();
    output.assignments[0].ready_min
}

fn channel(name: &str) -> ChargeChannel {
    ChargeChannel {
        name: name.to_owned(),
        charger_a: 5.0,
        charger_w: None,
        most_series_cells: None,
        free_from_min: 0.0,
        feeds: Vec::new(),
        efficiency: Some(1.0),
        power_factor: Some(1.0),
    }
}

/// A bout that only a pack just charged serves.
pub(super) fn bout(name: &str, call_min: f64, packs: &[&str]) -> AllocationBout {
    AllocationBout {
        name: name.to_owned(),
        call_min,
        fitting_min: 0.0,
        ends_min: call_min + 10.0,
        inspection_min: 5.0,
        cool_down_min: 15.0,
        packs: packs.iter().map(|&pack| pack.to_owned()).collect(),
        packs_needed: 1,
        used_ah: 3.6,
        peak_a: 40.0,
    }
}

pub(super) fn feed(rating_a: f64) -> MainsFeed {
    MainsFeed {
        name: "bay".to_owned(),
        volts_v: 126.0,
        rating_a,
        planned_share: Some(1.0),
        other_a: 0.0,
        loads: Vec::new(),
    }
}

pub(super) fn own_packs(minutes: &[f64], calls: &[f64], channels: usize) -> PackAllocationInput {
    let names: Vec<String> = (0..minutes.len())
        .map(|index| format!("p{index}"))
        .collect();
    PackAllocationInput {
        packs: names
            .iter()
            .zip(minutes)
            .map(|(name, &minutes)| pack(name, minutes))
            .collect(),
        channels: (0..channels)
            .map(|index| channel(&format!("c{index}")))
            .collect(),
        feeds: Vec::new(),
        bouts: names
            .iter()
            .zip(calls)
            .map(|(name, &call)| bout(&format!("bout of {name}"), call, &[name]))
            .collect(),
        limits: ServingLimits::default(),
    }
}

/// Fails if an allocation breaks a rule of the yard.
pub(super) fn proves_sound(input: &PackAllocationInput, output: &PackAllocationOutput) {
    let bouts: HashMap<&str, &AllocationBout> = input
        .bouts
        .iter()
        .map(|bout| (bout.name.as_str(), bout))
        .collect();
    let channels: HashMap<&str, &ChargeChannel> = input
        .channels
        .iter()
        .map(|told| (told.name.as_str(), told))
        .collect();
    let charges: Vec<&AllocatedCharge> = output
        .assignments
        .iter()
        .filter_map(|assignment| assignment.charge.as_ref())
        .collect();
    for (index, one) in charges.iter().enumerate() {
        assert!(one.to_min > one.from_min);
        for other in &charges[..index] {
            assert!(
                one.channel != other.channel
                    || one.to_min <= other.from_min + 1e-9
                    || other.to_min <= one.from_min + 1e-9,
                "two packs on one channel"
            );
        }
    }
    for feed in &input.feeds {
        let planned = feed.planned_share.unwrap() * feed.rating_a - feed.other_a;
        for moment in charges.iter().map(|charge| charge.from_min) {
            let drawn: f64 = charges
                .iter()
                .filter(|charge| charge.from_min <= moment && moment < charge.to_min - 1e-9)
                .filter(|charge| channels[charge.channel.as_str()].feeds.contains(&feed.name))
                .map(|charge| charge.peak_w / feed.volts_v)
                .sum();
            assert!(
                drawn <= planned * (1.0 + 1e-6),
                "{drawn} A over {planned} A"
            );
        }
    }
    for pack in &input.packs {
        let mut released = pack.released_min;
        let mut uses: Vec<&PackAssignment> = output
            .assignments
            .iter()
            .filter(|assignment| assignment.pack == pack.name)
            .collect();
        uses.sort_by(|one, other| {
            bouts[one.bout.as_str()]
                .call_min
                .total_cmp(&bouts[other.bout.as_str()].call_min)
        });
        for used in uses {
            assert!(!pack.suspect);
            let from = used
                .charge
                .as_ref()
                .map_or(used.ready_min, |charge| charge.from_min);
            assert!(from >= released - 1e-9, "{} before it is back", pack.name);
            let bout = bouts[used.bout.as_str()];
            assert!(bout.packs.contains(&pack.name));
            released = bout.ends_min + bout.inspection_min + bout.cool_down_min;
        }
    }
    for bout in &input.bouts {
        let given = output
            .assignments
            .iter()
            .filter(|assignment| assignment.bout == bout.name)
            .count();
        let missing = output
            .late
            .iter()
            .filter(|late| late.bout == bout.name && late.pack.is_none())
            .count();
        assert_eq!(given + missing, bout.packs_needed as usize);
    }
}

#[test]
fn the_hand_check_is_three_and_six_minutes_late() {
    // One channel, two packs of 58 min, calls at 60 and 115 with 5 min of fitting.
    let mut input = own_packs(&[58.0, 58.0], &[60.0, 115.0], 1);
    for bout in &mut input.bouts {
        bout.fitting_min = 5.0;
    }
    let output = pack_allocation(&input).unwrap();
    proves_sound(&input, &output);
    let told: Vec<(f64, f64, f64)> = output
        .assignments
        .iter()
        .map(|assignment| {
            let charge = assignment.charge.as_ref().unwrap();
            (charge.from_min, charge.to_min, -assignment.slack_min)
        })
        .collect();
    for (told, wanted) in told.iter().zip([(0.0, 58.0, 3.0), (58.0, 116.0, 6.0)]) {
        assert!((told.0 - wanted.0).abs() < 1e-6);
        assert!((told.1 - wanted.1).abs() < 1e-6);
        assert!((told.2 - wanted.2).abs() < 1e-6);
    }
    let causes: Vec<LateCause> = output.late.iter().map(|late| late.cause).collect();
    assert_eq!(causes, [LateCause::ChargeTime, LateCause::Channel]);
}

#[test]
fn a_ready_pack_goes_first_and_the_least_used_of_them() {
    let mut input = own_packs(&[30.0, 30.0, 30.0], &[60.0], 1);
    input.bouts[0].packs = vec!["p0".to_owned(), "p1".to_owned(), "p2".to_owned()];
    for (pack, cycles) in input.packs.iter_mut().skip(1).zip([9.0, 4.0]) {
        pack.soc_fraction = 0.97;
        pack.equivalent_full_cycles = cycles;
    }
    let output = pack_allocation(&input).unwrap();
    assert_eq!(output.assignments[0].pack, "p2");
    assert_eq!(output.assignments[0].charge, None);
    input.packs[2].suspect = true;
    let output = pack_allocation(&input).unwrap();
    assert_eq!(output.assignments[0].pack, "p1");
}

#[test]
fn each_late_bout_names_its_cause() {
    let late = |input: &PackAllocationInput| -> Vec<LateCause> {
        let output = pack_allocation(input).unwrap();
        proves_sound(input, &output);
        output.late.iter().map(|late| late.cause).collect()
    };
    let mut mains = own_packs(&[50.0, 50.0], &[60.0, 60.0], 2);
    assert_eq!(late(&mains), []);
    // 126 W each: 1.1 A at 126 V carries one at full current and the other not even at 0.2C.
    mains.feeds = vec![feed(1.1)];
    for channel in &mut mains.channels {
        channel.feeds = vec!["bay".to_owned()];
    }
    assert_eq!(late(&mains), [LateCause::Mains]);
    let mut cool = own_packs(&[50.0], &[60.0], 1);
    cool.packs[0].released_min = 20.0;
    assert_eq!(late(&cool), [LateCause::CoolDown]);
    let mut none = own_packs(&[50.0], &[60.0], 1);
    none.bouts[0].used_ah = 4.9;
    assert_eq!(late(&none), [LateCause::NoPack]);
    none.bouts[0].used_ah = 1.0;
    none.channels[0].most_series_cells = Some(4);
    none.packs[0].soc_fraction = 0.1;
    assert_eq!(late(&none), [LateCause::NoPack]);
}

#[test]
fn a_current_is_lowered_only_where_that_helps() {
    let mut input = own_packs(&[50.0, 30.0], &[60.0, 60.0], 2);
    input.feeds = vec![feed(1.6)];
    for channel in &mut input.channels {
        channel.feeds = vec!["bay".to_owned()];
    }
    let output = pack_allocation(&input).unwrap();
    proves_sound(&input, &output);
    // 0.6 A are left beside the first: 3 A for the second, in time although not at full current.
    let second = output.assignments[1].charge.as_ref().unwrap();
    assert!(second.lowered);
    assert!((second.charge_a - 3.0).abs() < 1e-6);
    assert_eq!(output.late, []);
    assert!((output.feeds[0].peak_a - 1.6).abs() < 1e-6);
}

#[test]
fn a_pack_comes_back_and_is_charged_again() {
    let mut input = own_packs(&[30.0], &[40.0], 1);
    input.bouts.push(bout("later", 150.0, &["p0"]));
    let output = pack_allocation(&input).unwrap();
    proves_sound(&input, &output);
    let again = output.assignments[1].charge.as_ref().unwrap();
    // 40 + 10 in the arena + 5 + 15.
    assert!((again.from_min - 70.0).abs() < 1e-9);
    assert_eq!(output.late, []);
}

#[test]
fn every_fault_of_an_allocation_is_named() {
    let mut input = own_packs(&[30.0, 30.0], &[40.0, 50.0], 1);
    input.packs[1].name = "p0".to_owned();
    input.packs[0].cell_ir_mohm = 0.003;
    input.channels[0].feeds = vec!["nowhere".to_owned()];
    input.channels[0].charger_a = -1.0;
    input.bouts[0].ends_min = 1.0;
    input.bouts[1].packs_needed = 0;
    let pointers: Vec<String> = pack_allocation(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(
        pointers,
        [
            "/packs/1/name",
            "/packs/0/cell_ir_mohm",
            "/channels/0/charger_a",
            "/channels/0/feeds/0",
            "/bouts/0/ends_min",
            "/bouts/1/packs_needed",
            "/bouts/1/packs/0",
        ]
    );
}
