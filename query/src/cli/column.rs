//! `leadsman column`: the skipper's word on what a column of a table holds.

use clap::Args;
use leadsman_index::{Decision, Mapping};
use leadsman_ingest::instrument::{Column as Mapped, Quantity, Reference};

use super::context::Context;
use crate::error::{Error, Exit, did_you_mean};
use crate::words::spaced;

/// Say once what a column of a table of instruments holds
#[derive(Debug, Args)]
#[command(arg_required_else_help = true)]
pub struct Column {
    /// The column's header as it stands in the file, capitals or not
    header: String,
    /// What it measures, by its name in `leadsman channels`, for instance sea_temperature; or none, to take it back
    quantity: String,
    /// The unit that it is written in, where it is not the quantity's own
    #[arg(long, value_name = "UNIT", default_value = "")]
    unit: String,
    /// From or against what: true, magnetic, water, ground, surface, transducer, keel
    #[arg(long, value_name = "REFERENCE", default_value = "")]
    reference: String,
    /// Which of several: house, starter, intake
    #[arg(long, value_name = "NAME", default_value = "")]
    instance: String,
}

impl Column {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let header = self.header.trim().to_owned();
        if header.is_empty() {
            return Err(Error::wrong_use("expected a column's header, found nothing"));
        }
        if self.quantity.trim().eq_ignore_ascii_case("none") {
            context
                .decide(Decision::Column(Mapping { header: header.clone(), ..Mapping::default() }))
                .await?;
            context
                .screen
                .line(format!("\"{header}\" is read by its own words again; every table was read again"))?;
            return Ok(Exit::Done);
        }
        let quantity = quantity(&self.quantity)?;
        let reference = self.reference.trim().to_lowercase();
        let known = Reference::from_name(&reference).ok_or_else(|| {
            let names: Vec<&str> =
                Reference::ALL.iter().map(|r| r.name()).filter(|name| !name.is_empty()).collect();
            Error::wrong_use(format!("no reference is called \"{}\"", self.reference.trim()))
                .hint(format!("the references are {}", names.join(", ")))
        })?;
        let mapped = Mapped {
            header: header.clone(),
            quantity,
            reference: known,
            instance: self.instance.trim().to_owned(),
            unit: self.unit.trim().to_owned(),
        };
        if !mapped.unit_fits() {
            return Err(Error::wrong_use(format!(
                "{} is not measured in \"{}\"",
                spaced(quantity.name()),
                mapped.unit
            ))
            .hint(format!("its own unit is {}; leave --unit out for that", quantity.unit())));
        }
        let unit = if mapped.unit.is_empty() { quantity.unit().to_owned() } else { mapped.unit.clone() };
        let mapping = Mapping {
            header: mapped.header,
            quantity: quantity.name().to_owned(),
            reference,
            instance: mapped.instance,
            unit: mapped.unit,
        };
        context.decide(Decision::Column(mapping)).await?;
        let of = spaced(quantity.name());
        context.screen.line(format!("\"{header}\" is {of} in {unit}; every table was read again"))?;
        Ok(Exit::Done)
    }
}

/// The instruments' quantity that a person means. Errors: there is none, with the nearest.
fn quantity(words: &str) -> Result<Quantity, Error> {
    let name = words.trim().to_lowercase().replace([' ', '-'], "_");
    Quantity::from_name(&name).ok_or_else(|| {
        let names = || Quantity::ALL.iter().map(|quantity| quantity.name());
        let error = Error::wrong_use(format!("no quantity of instruments is called \"{}\"", words.trim()));
        match did_you_mean(&name, names()) {
            Some(meant) => error.hint(format!("did you mean {meant}?")),
            None => error.hint(format!("the quantities are {}", names().collect::<Vec<_>>().join(", "))),
        }
    })
}
