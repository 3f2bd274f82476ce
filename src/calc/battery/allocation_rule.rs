//! The list rule: bouts in order of call, the first pack and channel to finish.

use super::allocation_yard::{PlacedCharge, Yard};
use super::pack_allocation::{
    AllocatedCharge, AllocationBout, LateCause, LatePack, PackAllocationInput,
    PackAllocationOutput, PackAssignment, by_name,
};

/// A pack for a bout, and how it gets ready.
#[derive(Debug, Clone, Copy)]
struct Choice {
    pack: usize,
    charge: Option<PlacedCharge>,
    ready_min: f64,
    soc: f64,
}

/// Allocates checked input.
pub(super) fn allocate(input: &PackAllocationInput) -> PackAllocationOutput {
    let names = by_name(input.packs.iter().map(|pack| pack.name.as_str()));
    let mut bouts: Vec<&AllocationBout> = input.bouts.iter().collect();
    bouts.sort_by(|one, other| {
        one.call_min
            .total_cmp(&other.call_min)
            .then_with(|| one.name.cmp(&other.name))
    });
    let mut yard = Yard::new(input);
    let mut assignments = Vec::new();
    let mut late = Vec::new();
    for bout in bouts {
        let deadline = bout.call_min - bout.fitting_min;
        let mut open: Vec<usize> = bout
            .packs
            .iter()
            .filter_map(|name| names.get(name.as_str()).copied())
            .collect();
        // The least used goes first wherever two are equally good.
        open.sort_by(|&one, &other| {
            yard.packs[one]
                .cycles
                .total_cmp(&yard.packs[other].cycles)
                .then_with(|| yard.packs[one].told.name.cmp(&yard.packs[other].told.name))
        });
        open.dedup();
        for _ in 0..bout.packs_needed {
            let Some(choice) = choose(&mut yard, &open, bout, deadline) else {
                late.push(LatePack {
                    bout: bout.name.clone(),
                    pack: None,
                    late_min: None,
                    cause: LateCause::NoPack,
                });
                continue;
            };
            open.retain(|&pack| pack != choice.pack);
            let name = &yard.packs[choice.pack].told.name;
            if choice.ready_min > deadline + 1e-9 {
                late.push(LatePack {
                    bout: bout.name.clone(),
                    pack: Some(name.clone()),
                    late_min: Some(choice.ready_min - deadline),
                    cause: cause(&mut yard, &choice, deadline),
                });
            }
            assignments.push(PackAssignment {
                bout: bout.name.clone(),
                pack: yard.packs[choice.pack].told.name.clone(),
                charge: choice.charge.map(|placed| AllocatedCharge {
                    channel: yard.channel_name(placed.channel).to_owned(),
                    from_min: placed.from_min,
                    to_min: placed.done_min(),
                    charge_a: placed.charge.charge_a,
                    lowered: placed.lowered,
                    peak_w: placed.charge.peak_w,
                }),
                ready_min: choice.ready_min,
                slack_min: deadline - choice.ready_min,
            });
            if let Some(placed) = &choice.charge {
                yard.put(placed);
            }
            yard.spend(choice.pack, choice.soc, bout);
        }
    }
    PackAllocationOutput {
        assignments,
        late,
        feeds: yard.feed_peaks(),
    }
}

/// The pack for a bout: ready and serving, else the first to finish, else at a lowered current.
fn choose(
    yard: &mut Yard<'_>,
    open: &[usize],
    bout: &AllocationBout,
    deadline: f64,
) -> Option<Choice> {
    let as_they_are: Vec<Choice> = open
        .iter()
        .filter(|&&pack| yard.serves(pack, yard.packs[pack].soc, bout))
        .map(|&pack| Choice {
            pack,
            charge: None,
            ready_min: yard.packs[pack].released_min,
            soc: yard.packs[pack].soc,
        })
        .collect();
    if let Some(&ready) = as_they_are
        .iter()
        .find(|choice| choice.ready_min <= deadline)
    {
        return Some(ready);
    }
    let mut best = first_done(as_they_are);
    for lowered in [false, true] {
        if best.is_some_and(|choice| choice.ready_min <= deadline) {
            break;
        }
        let charged = charges(yard, open, bout, lowered);
        best = first_done(best.into_iter().chain(charged));
    }
    best
}

/// Every charge that would make a pack serve, at full current or at one lowered for the mains.
fn charges(
    yard: &mut Yard<'_>,
    open: &[usize],
    bout: &AllocationBout,
    lowered: bool,
) -> Vec<Choice> {
    let mut choices = Vec::new();
    for &pack in open {
        for channel in 0..yard.channels() {
            let Some(full) = yard.full_charge(pack, channel) else {
                continue;
            };
            let placed = if lowered {
                yard.lowered(pack, channel, full)
            } else {
                yard.earliest(pack, channel, full, true)
            };
            let Some(placed) = placed else {
                continue;
            };
            if yard.serves(pack, placed.charge.end_soc, bout) {
                choices.push(Choice {
                    pack,
                    charge: Some(placed),
                    ready_min: placed.done_min(),
                    soc: placed.charge.end_soc,
                });
            }
        }
    }
    choices
}

/// The first to be ready, and among equals the first in the list.
fn first_done(choices: impl IntoIterator<Item = Choice>) -> Option<Choice> {
    choices.into_iter().reduce(|best, next| {
        if next.ready_min < best.ready_min - 1e-9 {
            next
        } else {
            best
        }
    })
}

/// Why a pack is late: what would have to go for it to be in time.
fn cause(yard: &mut Yard<'_>, choice: &Choice, deadline: f64) -> LateCause {
    if choice.charge.is_none() {
        return LateCause::CoolDown;
    }
    let pack = choice.pack;
    let released = yard.packs[pack].released_min;
    let mut alone = f64::INFINITY;
    let mut beside_channels = f64::INFINITY;
    for channel in 0..yard.channels() {
        let Some(full) = yard.full_charge(pack, channel) else {
            continue;
        };
        alone = alone.min(full.minutes);
        if let Some(placed) = yard.earliest(pack, channel, full, false) {
            beside_channels = beside_channels.min(placed.done_min());
        }
    }
    if released + alone > deadline {
        if alone <= deadline {
            LateCause::CoolDown
        } else {
            LateCause::ChargeTime
        }
    } else if beside_channels <= deadline {
        LateCause::Mains
    } else {
        LateCause::Channel
    }
}
