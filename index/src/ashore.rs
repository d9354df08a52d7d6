//! What the contact ashore is told of the boat and her passage, as the skipper gives it.

use serde::{Deserialize, Serialize};

/// What the contact ashore is told. A field that is absent leaves what an earlier decision set; an empty one takes it
/// back.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ashore {
    /// The boat: her name, how she looks, her call sign and other numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boat: Option<String>,
    /// The people aboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<String>,
    /// Where she goes, and by which way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub route: Option<String>,
    /// When and how she lets hear of herself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check_in: Option<String>,
    /// When somebody is to be called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call_when: Option<String>,
    /// Whom to call, and by which number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call_whom: Option<String>,
}

impl Ashore {
    /// This with what a later decision sets on top.
    pub fn then(self, later: &Ashore) -> Ashore {
        Ashore {
            boat: later.boat.clone().or(self.boat),
            people: later.people.clone().or(self.people),
            route: later.route.clone().or(self.route),
            check_in: later.check_in.clone().or(self.check_in),
            call_when: later.call_when.clone().or(self.call_when),
            call_whom: later.call_whom.clone().or(self.call_whom),
        }
    }
}
