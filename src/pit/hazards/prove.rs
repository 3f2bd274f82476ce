//! H10, H21 and H22: changes after which something has to be proved again.

use super::{Finding, Scene, Severity};
use crate::pit::exposure::ToProve;
use crate::pit::logbook::work::{Outcome, ProofOf};
use crate::pit::weight;
use chrono::{DateTime, Utc};

/// H10: the failsafe was not proved since the radio path changed.
pub fn failsafe_unproved(scene: &Scene<'_>) -> Option<Finding> {
    unproved(scene, ProofOf::Failsafe, "Failsafe", |change| {
        change.failsafe
    })
}

/// H21: not weighed since a change that can alter the mass, or over the limit.
pub fn weight_unproved(scene: &Scene<'_>) -> Option<Finding> {
    let settings = scene.pit.settings();
    let proof = scene.file.state.proofs.get(&ProofOf::Weight);
    let over = proof.and_then(|proof| {
        let over = weight::over(&scene.file.register.body, settings, proof.value.mass_g?)?;
        Some((proof, over))
    });
    if let Some((proof, over)) = over.filter(|_| scene.exposure.departed) {
        return Some(Finding {
            severity: Severity::Hold,
            since: proof.at,
            why: over.words(settings),
            people: Vec::new(),
        });
    }
    unproved(scene, ProofOf::Weight, "Weight", |change| {
        settings.reweigh && change.weigh
    })
}

/// H22: the inspector has not looked since a change that matters.
pub fn inspection_unproved(scene: &Scene<'_>) -> Option<Finding> {
    let reinspect = scene.pit.settings().reinspect;
    unproved(scene, ProofOf::Inspection, "Inspection", |change| {
        reinspect && change.inspection
    })
}

fn unproved(
    scene: &Scene<'_>,
    what: ProofOf,
    name: &str,
    asks: impl Fn(&ToProve) -> bool,
) -> Option<Finding> {
    if !scene.exposure.departed {
        return None;
    }
    let held = |since: DateTime<Utc>, why: String| {
        Some(Finding {
            severity: Severity::Hold,
            since,
            why,
            people: Vec::new(),
        })
    };
    let Some(proof) = scene.file.state.proofs.get(&what) else {
        let since = scene.work.departed.or(scene.place_since());
        return held(since.unwrap_or(scene.now), format!("{name} never proved"));
    };
    if proof.value.result == Outcome::Fail {
        return held(proof.at, format!("{name} failed"));
    }
    let change = scene
        .work
        .to_prove
        .iter()
        .filter(|change| change.at > proof.at && asks(change))
        .min_by_key(|change| change.at)?;
    held(
        change.at,
        format!("{name} not proved since: {}", change.what),
    )
}
