//! The order of bouts: who can be ready when, which order keeps the show going, who meets whom.

mod bracket;
mod carlier;
mod knock_out;
mod order;
mod proposal;
mod round_robin;
mod search;
mod sequence;
mod window;

pub use bracket::{
    BracketOutlookInput, BracketOutlookOutput, BracketRobot, RobotOutlook, bracket_outlook,
};
pub use knock_out::{KnockOutInput, KnockOutOutput, knock_out};
pub use order::{BoutInOrder, BoutSide, RobotReady, RunningOrderInput};
pub use proposal::{
    BoutTime, OrderOutcome, OrderProposal, OrderProposalReason, RunningOrderOutput, running_order,
};
pub use round_robin::{Pairing, RoundRobinInput, RoundRobinOutput, round_robin};
pub use sequence::{
    ArenaSequenceInput, ArenaSequenceOutput, BoutSequence, BoutToSequence, arena_sequence,
};

#[cfg(test)]
mod checks;
#[cfg(test)]
mod properties;
