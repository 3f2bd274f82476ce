//! Everything that is shared, seen as one kind of thing: pools, and groups of people.

use std::collections::BTreeSet;

use super::model::Model;
use super::profile::Profile;

/// Up to so many different sets of able people, every union of them is looked at.
const ALL_UNIONS: usize = 7;

/// A shared thing: how much there is, when there is less, who holds how much of it.
#[derive(Debug, Clone)]
pub(super) struct Shared {
    pub size: i32,
    /// `(start, end, by)`.
    pub cuts: Vec<(i32, i32, i32)>,
    /// `(task, amount)`.
    pub holds: Vec<(usize, i32)>,
}

impl Shared {
    /// What is free when nobody holds any.
    pub fn profile(&self) -> Profile {
        Profile::new(self.size, &self.cuts)
    }
}

/// The pools, and every group of people that some tasks cannot do without.
///
/// A set of skills S is served by the people P who have one of them. Whoever asks for skills in S
/// takes people out of P, so P is a pool as wide as it has people: Hall's condition.
pub(super) fn shared(model: &Model) -> Vec<Shared> {
    let mut all: Vec<Shared> = model
        .pools
        .iter()
        .map(|pool| Shared {
            size: pool.size,
            cuts: pool.reduced.clone(),
            holds: Vec::new(),
        })
        .collect();
    for i in 0..model.n {
        for &(pool, amount) in &model.holds[i] {
            all[pool].holds.push((i, amount));
        }
    }
    all.retain(|pool| !pool.holds.is_empty());
    for group in groups(model) {
        let holds: Vec<(usize, i32)> = (0..model.n)
            .map(|i| {
                let inside =
                    |slot: &&super::model::Slots| slot.able.iter().all(|who| group.contains(who));
                (
                    i,
                    model.slots[i]
                        .iter()
                        .filter(inside)
                        .map(|s| s.count as i32)
                        .sum(),
                )
            })
            .filter(|hold: &(usize, i32)| hold.1 > 0)
            .collect();
        let cuts = group
            .iter()
            .flat_map(|&who| model.away[who].iter().map(|gone| (gone.0, gone.1, 1)))
            .collect();
        all.push(Shared {
            size: group.len() as i32,
            cuts,
            holds,
        });
    }
    all
}

fn groups(model: &Model) -> BTreeSet<BTreeSet<usize>> {
    let single: BTreeSet<BTreeSet<usize>> = model
        .slots
        .iter()
        .flatten()
        .map(|slot| slot.able.iter().copied().collect())
        .collect();
    let single: Vec<BTreeSet<usize>> = single.into_iter().collect();
    let mut unions: BTreeSet<BTreeSet<usize>> = BTreeSet::new();
    if single.len() <= ALL_UNIONS {
        for mask in 1u32..1 << single.len() {
            let parts = (0..single.len()).filter(|bit| mask >> bit & 1 == 1);
            unions.insert(parts.flat_map(|bit| single[bit].iter().copied()).collect());
        }
    } else {
        unions.extend(single.iter().cloned());
        unions.insert(single.iter().flatten().copied().collect());
    }
    unions
}
