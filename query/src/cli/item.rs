//! `leadsman item`: an item's whole life.

use clap::Args;

use super::context::Context;
use crate::decide::item;
use crate::error::{Error, Exit};
use crate::life::{Life, show};

/// Show an item's whole life: what raised it, what was decided, what closed it
#[derive(Debug, Args)]
pub struct Item {
    /// The item: its short name, the beginning of it, its gear, or words of its title
    #[arg(required = true, value_name = "ITEM")]
    item: Vec<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Item {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let boat = context.boat().await?;
        let day = context.day();
        let list = boat.open_list(day, None);
        let known = item(&boat, &list, &self.item.join(" "))?;
        let life = Life::new(&boat, &list, &known);
        if self.json {
            context.screen.json(&life)?;
        } else {
            show(&life, day.on, &mut context.screen)?;
        }
        Ok(Exit::Done)
    }
}
