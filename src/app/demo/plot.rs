//! What goes out of the ordinary in the demo, so that every state can be seen at its beginning.

use super::day::{Kit, Turn, Twist};
use crate::pit::ids::RobotId;
use crate::pit::logbook::register::Slot;
use chrono::{DateTime, TimeDelta, Utc};

/// The turns of the demo around `now`, the moment at which it begins. Bouts are counted from 0.
pub fn turns(kit: &Kit, now: DateTime<Utc>) -> Vec<Turn> {
    let in_bout = |bout: usize, corner: usize| match kit
        .bouts
        .get(bout)
        .map(|(_, bout)| bout.slots[corner])
    {
        Some(Slot::Robot(robot)) => Some(robot),
        _ => None,
    };
    let silent_team = kit.teams.len() - 1;
    let silent: Vec<RobotId> = kit
        .robots
        .iter()
        .filter(|robot| robot.team == silent_team)
        .map(|robot| robot.id)
        .collect();
    let mut turns = Vec::new();
    let mut add = |minute: i64, robot: Option<RobotId>, twist: Twist| {
        turns.extend(robot.map(|robot| Turn {
            at: now + TimeDelta::minutes(minute),
            robot,
            twist,
        }));
    };
    // What a bout did is found after it: the last one of the robot before this.
    let after_last = |bout: usize, corner: usize| {
        let robot = in_bout(bout, corner)?;
        let before = kit.bouts.get(..bout)?.iter().rev();
        let last = before
            .map(|(_, bout)| bout)
            .find(|bout| bout.slots.contains(&Slot::Robot(robot)))?;
        Some((last.call_at - now).num_minutes() + 5)
    };
    // Armed without a plan that was read back; the marshal does not let it start.
    add(-55, in_bout(15, 0), Twist::UnreadPlan);
    add(8, in_bout(15, 0), Twist::PlanReadBack);
    // Heavy damage: late.
    add(
        after_last(17, 0).unwrap_or(0),
        in_bout(17, 0),
        Twist::Damage(HEAVY_DAMAGE.to_vec()),
    );
    // Some damage, and nobody looks again: unproved with hands in.
    add(
        after_last(18, 0).unwrap_or(0),
        in_bout(18, 0),
        Twist::Damage(SOME_DAMAGE.to_vec()),
    );
    add(-95, in_bout(18, 0), Twist::NobodyLooks);
    add(6, in_bout(18, 0), Twist::GoOn);
    // Some damage: tight.
    add(
        after_last(17, 1).unwrap_or(0),
        in_bout(17, 1),
        Twist::Damage(SOME_DAMAGE.to_vec()),
    );
    // The link goes in on the bench.
    add(-4, in_bout(20, 0), Twist::LinkIn);
    add(7, in_bout(20, 0), Twist::LinkOut);
    add(9, in_bout(20, 0), Twist::LinkSeenOut);
    // A team that enters nothing any more.
    for robot in silent {
        add(-36, Some(robot), Twist::Silence);
        add(10, Some(robot), Twist::GoOn);
    }
    turns
}

const HEAVY_DAMAGE: [(&str, &str); 3] = [
    ("wheel_fl", "drive_noise"),
    ("wheel_rr", "wheel_cut"),
    ("electrics", "controller_burnt"),
];
const SOME_DAMAGE: [(&str, &str); 2] = [("wheel_fl", "wheel_cut"), ("electrics", "loom_hot")];
