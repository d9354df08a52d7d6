//! A network of the tests' own: a namespace with one end of a cable in it, whose other end is here.

use std::process::{Command, Stdio};

/// A boat's network, taken away when dropped.
pub struct Network {
    name: String,
    cable: String,
    /// The address in the namespace.
    pub there: String,
}

fn ip(arguments: &[&str]) -> bool {
    let ran = Command::new("ip").args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status();
    ran.is_ok_and(|status| status.success())
}

impl Network {
    /// Lays the cable; `None`, with a printed line, where this machine does not let the tests.
    pub fn lay(number: u8) -> Option<Self> {
        let id = std::process::id();
        let network = Self {
            name: format!("leadsman-{id}-{number}"),
            cable: format!("lm{id}n{number}"),
            there: format!("10.213.{number}.2"),
        };
        let (name, cable) = (network.name.as_str(), network.cable.as_str());
        let laid = ip(&["netns", "add", name])
            && ip(&["link", "add", cable, "type", "veth", "peer", "name", "boat", "netns", name])
            && ip(&["addr", "add", &format!("10.213.{number}.1/24"), "dev", cable])
            && ip(&["link", "set", cable, "up"])
            && ip(&["-n", name, "addr", "add", &format!("{}/24", network.there), "dev", "boat"])
            && ip(&["-n", name, "link", "set", "lo", "up"])
            && ip(&["-n", name, "link", "set", "boat", "up"]);
        if !laid {
            println!("skipped: this machine lets the tests make no network namespace");
            return None;
        }
        Some(network)
    }

    /// A command in the namespace in place of the same command here.
    pub fn in_it(&self, here: &Command) -> Command {
        let mut there = Command::new("ip");
        there.args(["netns", "exec", &self.name]).arg(here.get_program()).args(here.get_args());
        if let Some(folder) = here.get_current_dir() {
            there.current_dir(folder);
        }
        for (name, value) in here.get_envs() {
            match value {
                Some(value) => there.env(name, value),
                None => there.env_remove(name),
            };
        }
        there.stdin(Stdio::null());
        there
    }

    /// Pulls the cable out, or puts it back.
    pub fn cable(&self, up: bool) {
        assert!(ip(&["link", "set", &self.cable, if up { "up" } else { "down" }]));
    }
}

impl Drop for Network {
    fn drop(&mut self) {
        ip(&["link", "del", &self.cable]);
        ip(&["netns", "del", &self.name]);
    }
}
