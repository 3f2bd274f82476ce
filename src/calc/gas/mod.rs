//! Gas: what CO2, nitrogen and air do in a bottle and in a ram.

mod equation;

pub use equation::Gas;
