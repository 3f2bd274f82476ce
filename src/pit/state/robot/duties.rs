//! Duties pass from person to person: nobody has one by being named.

use super::RobotState;
use crate::pit::logbook::Line;
use crate::pit::logbook::work::Duty;
use crate::pit::state::sight::Sight;

impl RobotState {
    pub(super) fn take_duty(&mut self, line: &Line, duty: &Duty) {
        self.duty_offers.remove(&duty.duty);
        match duty.who {
            Some(who) if line.entered_by.person == Some(who) => {
                self.duties.insert(duty.duty, who);
            }
            Some(who) => {
                self.duty_offers.insert(duty.duty, Sight::of(line, who));
            }
            None => {
                self.duties.remove(&duty.duty);
            }
        }
    }
}
