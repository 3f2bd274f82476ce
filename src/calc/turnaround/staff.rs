//! Filling the slots of a task with different people.

/// Gives each slot a different person of those able to fill it, preferring those named first.
///
/// **Source** augmenting paths in a bipartite graph (Kuhn 1955, Berge 1957).
pub(super) fn assign<S: AsRef<[usize]>>(slots: &[S]) -> Option<Vec<usize>> {
    let people = slots
        .iter()
        .flat_map(|s| s.as_ref().iter().copied())
        .max()
        .map_or(0, |most| most + 1);
    let mut slot_of = vec![usize::MAX; people];
    for slot in 0..slots.len() {
        let mut tried = vec![false; people];
        if !augment(slots, slot, &mut tried, &mut slot_of) {
            return None;
        }
    }
    let mut chosen = vec![usize::MAX; slots.len()];
    for (person, &slot) in slot_of.iter().enumerate() {
        if slot != usize::MAX {
            chosen[slot] = person;
        }
    }
    Some(chosen)
}

fn augment<S: AsRef<[usize]>>(
    slots: &[S],
    slot: usize,
    tried: &mut [bool],
    slot_of: &mut [usize],
) -> bool {
    for &person in slots[slot].as_ref() {
        if tried[person] {
            continue;
        }
        tried[person] = true;
        let holder = slot_of[person];
        if holder == usize::MAX || augment(slots, holder, tried, slot_of) {
            slot_of[person] = slot;
            return true;
        }
    }
    false
}
