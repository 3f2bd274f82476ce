//! `linkout calc <name>`: the same calculators, forms and answers as `POST /api/v1/calc/<name>`.

use super::Failure;
use crate::calc::table;
use clap::Args;
use std::io::Read as _;

/// Runs a calculator.
#[derive(Args)]
pub struct Calc {
    /// What it is called, such as `turnaround`.
    name: String,
}

impl Calc {
    /// Reads the input from stdin and prints the output.
    ///
    /// # Errors
    /// Every fault of the input, one a line.
    pub fn run(self) -> Result<(), Failure> {
        let calculator = table::named(&self.name)?;
        let mut text = String::new();
        std::io::stdin().read_to_string(&mut text)?;
        let input =
            serde_json::from_str(&text).map_err(|cause| format!("this is not JSON: {cause}"))?;
        let output = (calculator.run)(&input).map_err(|faults| {
            let lines: Vec<String> = faults
                .iter()
                .map(|fault| format!("{} {}", fault.pointer, fault.detail))
                .collect();
            lines.join("\n")
        })?;
        println!("{}", serde_json::to_string_pretty(&output)?);
        Ok(())
    }
}
