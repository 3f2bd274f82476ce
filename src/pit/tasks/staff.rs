//! Who could do a task: the places in it, so that a team of any size can be asked.

use crate::pit::ids::PersonId;
use crate::pit::library::tasks::Skill;
use std::collections::BTreeSet;

/// Any of the team.
pub(super) const HANDS: &str = "hands";
/// Somebody the hall lends.
pub(super) const LENT: &str = "lent";

/// Somebody the plan can ask.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Member {
    /// Name in the problem.
    pub id: String,
    /// The person; none where the team registered nobody.
    pub person: Option<PersonId>,
    /// What they can do.
    pub skills: BTreeSet<Skill>,
    /// They are there now.
    pub present: bool,
}

/// The places in a task.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Places {
    /// For each, the skills that one person has.
    pub skilled: Vec<BTreeSet<Skill>>,
    /// Anybody of the team.
    pub any: usize,
    /// Hands beyond the team's own.
    pub missing: usize,
}

/// The places in a task of so many `hands` with these `skills` among them.
///
/// One person may have several of the skills. A skill nobody in the team has is done by anyone, and
/// a team too small for the hands is asked for all of its people, so that there is always a plan.
pub(super) fn places(team: &[Member], skills: &BTreeSet<Skill>, hands: usize) -> Places {
    if hands == 0 {
        return Places::default();
    }
    let present = team.iter().filter(|member| member.present).count();
    let at_hand = if present == 0 { team.len() } else { present };
    let own = hands.min(at_hand);
    let known: Vec<Skill> = skills
        .iter()
        .copied()
        .filter(|skill| team.iter().any(|member| member.skills.contains(skill)))
        .collect();
    let mut all = Vec::new();
    partitions(&known, &mut Vec::new(), &mut all);
    let skilled = all
        .into_iter()
        .filter(|groups| distinct(team, groups))
        .min_by_key(|groups| {
            let able: Vec<usize> = groups
                .iter()
                .map(|group| able(team, group).count())
                .collect();
            let scarce = able.iter().min().copied().unwrap_or(usize::MAX);
            (
                groups.len().saturating_sub(own),
                std::cmp::Reverse(scarce),
                std::cmp::Reverse(able.iter().sum::<usize>()),
            )
        })
        .unwrap_or_default();
    Places {
        any: own.saturating_sub(skilled.len()),
        missing: hands - own,
        skilled,
    }
}

/// The word by which a problem asks for one person with all of `skills`.
pub(super) fn word(skills: &BTreeSet<Skill>) -> String {
    let words: Vec<&str> = skills.iter().map(|skill| skill.as_str()).collect();
    words.join("+")
}

fn able<'a>(team: &'a [Member], group: &'a BTreeSet<Skill>) -> impl Iterator<Item = usize> + 'a {
    team.iter()
        .enumerate()
        .filter(|(_, member)| group.is_subset(&member.skills))
        .map(|(index, _)| index)
}

/// Every way to give the skills to people, each at least one.
fn partitions(
    left: &[Skill],
    groups: &mut Vec<BTreeSet<Skill>>,
    all: &mut Vec<Vec<BTreeSet<Skill>>>,
) {
    let Some((&skill, rest)) = left.split_first() else {
        all.push(groups.clone());
        return;
    };
    for index in 0..groups.len() {
        groups[index].insert(skill);
        partitions(rest, groups, all);
        groups[index].remove(&skill);
    }
    groups.push(BTreeSet::from([skill]));
    partitions(rest, groups, all);
    groups.pop();
}

/// Whether a different person can be found for each group.
fn distinct(team: &[Member], groups: &[BTreeSet<Skill>]) -> bool {
    fn place(team: &[Member], groups: &[BTreeSet<Skill>], taken: &mut Vec<usize>) -> bool {
        let Some(group) = groups.get(taken.len()) else {
            return true;
        };
        let people: Vec<usize> = able(team, group)
            .filter(|who| !taken.contains(who))
            .collect();
        for who in people {
            taken.push(who);
            if place(team, groups, taken) {
                return true;
            }
            taken.pop();
        }
        false
    }
    place(team, groups, &mut Vec::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn team(skills: &[&[Skill]]) -> Vec<Member> {
        skills
            .iter()
            .enumerate()
            .map(|(n, skills)| Member {
                id: n.to_string(),
                person: None,
                skills: skills.iter().copied().collect(),
                present: true,
            })
            .collect()
    }

    use Skill::{Driver, Electrics, Fabricator, Mechanic, Pneumatics};

    #[test]
    fn one_person_does_what_two_skills_ask_where_only_one_is_asked() {
        let alone = team(&[&[Driver, Electrics, Mechanic]]);
        let places = places(&alone, &BTreeSet::from([Driver, Electrics]), 1);
        assert_eq!(places.skilled, [BTreeSet::from([Driver, Electrics])]);
        assert_eq!((places.any, places.missing), (0, 0));
    }

    #[test]
    fn skills_go_to_different_people_where_there_are_hands_for_it() {
        let four = team(&[
            &[Driver, Electrics],
            &[Mechanic],
            &[Pneumatics],
            &[Fabricator],
        ]);
        let places = places(&four, &BTreeSet::from([Driver, Mechanic, Pneumatics]), 3);
        assert_eq!(places.skilled.len(), 3);
    }

    #[test]
    fn a_team_too_small_is_asked_for_everybody_and_the_rest_is_missing() {
        let two = team(&[&[Driver], &[Mechanic]]);
        let places = places(&two, &BTreeSet::new(), 4);
        assert_eq!((places.any, places.missing), (2, 2));
    }

    #[test]
    fn what_nobody_can_do_anyone_does() {
        let two = team(&[&[Driver], &[]]);
        let places = places(&two, &BTreeSet::from([Pneumatics]), 1);
        assert_eq!((places.skilled.len(), places.any), (0, 1));
    }

    #[test]
    fn specialists_come_together_even_where_fewer_hands_are_asked() {
        let two = team(&[&[Electrics], &[Pneumatics]]);
        let places = places(&two, &BTreeSet::from([Electrics, Pneumatics]), 1);
        assert_eq!(places.skilled.len(), 2);
    }
}
