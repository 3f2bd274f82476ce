//! The plan a crew begins with.

use crate::calc::units::Note;
use crate::pit::logbook::link_plan::Plan;
use crate::pit::logbook::register::Machine;
use crate::pit::settings::{ArmAtRest, BarOff, Settings, TransmitterOn};

/// A first draft for a type of machine: the usual orders as this event has them, everything else
/// for its crew to say. **Source** order of making safe F2 and own; order of arming R1, F1, F22; what
/// to do when it goes wrong F1, F2, F4, R1, R4, R19. The event and its marshals come first.
pub fn draft(machine: Machine, settings: &Settings) -> Plan {
    let say = |text: &str| Note::new(text).ok();
    let steps = |steps: Vec<String>| steps.iter().filter_map(|step| say(step)).collect();
    let gas = machine.has_gas();
    Plan {
        arming: steps(arming(machine, settings)),
        making_safe: steps(making_safe(machine, settings)),
        if_not_shut: say("Dump until the gauge is at zero; stay out of the arm's arc")
            .filter(|_| gas),
        if_jammed: say(
            "Bar on, arena shut; the marshal decides: second disconnect, or run it flat",
        ),
        if_moving: say("Nobody goes in. Transmitter off, wait until it is flat"),
        if_fire: say("Not the link. Out, door shut, fire lead"),
        if_locked: say("Restrain the armed one first, the most dangerous first"),
        ..Plan::default()
    }
}

fn arming(machine: Machine, settings: &Settings) -> Vec<String> {
    let bar = machine.restraint();
    let on = "Transmitter on, in the driver's hand, outside".to_owned();
    let open = "Bottle open, out of the arm's arc".to_owned();
    let link = "Link in, hatch shut, say \"link in\"".to_owned();
    let out = "All out, door shut".to_owned();
    let mut steps = vec!["Covers off, aimed away from people and the door; two stay".to_owned()];
    let radio_first = settings.transmitter_on == TransmitterOn::BeforePower;
    steps.extend(radio_first.then(|| on.clone()));
    if !machine.has_gas() {
        steps.extend([link, format!("{bar} off, one pull, last")]);
    } else if settings.bar_off == BarOff::AfterGas {
        steps.extend([open, link, format!("{bar} off, one pull, last")]);
    } else {
        steps.extend([link, format!("{bar} off, one pull"), open]);
    }
    steps.push(out);
    steps.extend((!radio_first).then_some(on));
    steps
}

fn making_safe(machine: Machine, settings: &Settings) -> Vec<String> {
    let bar = machine.restraint();
    let radio_last = settings.transmitter_on == TransmitterOn::BeforePower;
    let off = "Transmitter off".to_owned();
    let mut steps = vec!["Hold still until the marshal's signal, hands off the sticks".to_owned()];
    steps.extend((!radio_last).then(|| off.clone()));
    steps.push(match (machine, settings.arm_at_rest) {
        (Machine::FlipperHeavyweight, ArmAtRest::Up) => {
            format!("{bar} on, arm propped up, from the side")
        }
        (Machine::FlipperHeavyweight, ArmAtRest::Down) => {
            format!("{bar} on, arm locked down, from the side")
        }
        _ => format!("{bar} on, from the side"),
    });
    steps.push("Link out, into the holder's hand".to_owned());
    if machine.has_gas() {
        steps.push("Bottle shut".to_owned());
        steps.push("Dump, read the gauge, wait, read it again".to_owned());
    }
    steps.extend(radio_last.then_some(off));
    steps.push("Light dark, second person looks".to_owned());
    steps
}
