//! H28: a state that is old or contradicted while somebody is exposed to it.

use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};

/// H28: the account of a source is missing, too old or disputed, and somebody is about to rely on it.
pub fn old_or_contradicted(scene: &Scene<'_>) -> Option<Finding> {
    if !scene.exposure.to_doubt() {
        return None;
    }
    let worst = scene
        .energy
        .sources
        .iter()
        .filter(|source| {
            matches!(
                source.standing,
                Standing::Stale | Standing::Disputed | Standing::Unknown
            )
        })
        .max_by_key(|source| source.standing == Standing::Disputed)?;
    let machine = scene.file.register.body.machine;
    let source = match worst.source {
        SourceOf::Link => "Link",
        SourceOf::Gas => "Gas",
        SourceOf::WeaponBar => machine.restraint(),
        SourceOf::Transmitter => "Transmitter",
        SourceOf::SecondTransmitter => "Second transmitter",
        SourceOf::Stored => "Stored energy",
    };
    let why = match worst.standing {
        Standing::Disputed => "two accounts disagree",
        Standing::Stale => "nobody has looked lately",
        _ => "nobody has said",
    };
    Some(Finding {
        severity: Severity::Hold,
        since: worst.seen_at.unwrap_or(scene.now),
        why: format!("{source}: {why}"),
        people: worst.seen_by.into_iter().chain(worst.against).collect(),
    })
}
