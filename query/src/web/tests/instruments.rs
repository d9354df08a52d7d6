//! What the instruments left, on the page: outings, the polar, and the way from a number down to the log's own lines.

use super::*;

/// Three quarters of an hour under sail on 9 May 2026, a quarter on each of three courses; a record every ten seconds.
fn boat_log() -> String {
    let mut log = String::new();
    for tick in 0..6 * 45 {
        let (angle, knots) = [(40, 5.0), (50, 6.0), (95, 7.0)][tick / 90];
        for body in [
            format!(
                "GPRMC,09{:02}{:02},A,5251.0093,N,00518.8170,E,{knots:.1},040.0,090526,,",
                tick / 6,
                tick % 6 * 10
            ),
            format!("IIVHW,41.0,T,,M,{knots:.1},N,,"),
            format!("IIMWV,{angle},T,13.0,N,A"),
        ] {
            let sum = body.bytes().fold(0, |sum, b| sum ^ b);
            log += &format!("${body}*{sum:02X}\r\n");
        }
    }
    log
}

#[tokio::test(flavor = "multi_thread")]
async fn outings_and_polar_are_shown_from_the_instruments() {
    let aboard = Aboard::new();
    aboard.upload(&[("boat.log", boat_log().as_bytes())]).await.is(303);
    let sailed = aboard.get("/sailed").await.is(200).body;
    assert!(sailed.contains("Through the water") && sailed.contains("4.5\u{a0}nmi"), "{sailed}");
    assert!(sailed.contains("href=\"/sailed?before=2026-05-09\""), "{sailed}");
    assert!(sailed.contains(">boat.log</a>"), "the figures lead to their log: {sailed}");
    assert!(aboard.get("/sailed?before=2026-05-09").await.is(200).body.contains("No instrument log has her"));
    assert!(
        aboard.get("/sailed?since=2026-05-09&until=2026-05-09").await.is(200).body.contains("4.5\u{a0}nmi")
    );
    aboard.get("/sailed?since=soon").await.is(400);
    let polar = aboard.get("/polar").await.is(200).body;
    assert_eq!(polar.matches("<svg").count(), 5 + 2, "the bar's signs, and a picture for each width");
    assert!(polar.contains("<strong>5.0</strong> 5.0") && polar.contains("15\u{a0}min"), "{polar}");
    assert!(polar.contains("<td></td>"), "a cell without minutes is empty: {polar}");
    assert!(aboard.get("/polar?since=2027-01-01").await.is(200).body.contains("No minute has true wind"));
    aboard.get("/polar?until=never").await.is(400);
}

/// The addresses on a page that begin in a way, as a browser follows them.
fn links(body: &str, begins: &str) -> Vec<String> {
    let begin = format!("href=\"{begins}");
    let parts = body.split(&begin).skip(1);
    let ends = parts.filter_map(|rest| rest.split('"').next());
    ends.map(|rest| format!("{begins}{}", rest.split('#').next().unwrap_or_default()).replace("&amp;", "&"))
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_number_of_the_instruments_leads_to_the_lines_of_the_log() {
    let aboard = Aboard::new();
    let log = boat_log();
    aboard.upload(&[("boat.log", log.as_bytes())]).await.is(303);
    // From the day in a trend by the hour and by the minute into the log.
    let trend = aboard.get("/trend").await.is(200).body;
    assert!(trend.contains("Boat speed") && trend.contains(">log<"), "{trend}");
    let trend = aboard.get("/trend/boat_speed").await.is(200).body;
    assert!(trend.contains("6.0") || trend.contains("mean <span class=\"value\">6"), "{trend}");
    let day = links(&trend, "/log/boat_speed").pop().expect("a day");
    let hours = aboard.get(&day).await.is(200).body;
    let hour = links(&hours, "/log/boat_speed")[0].clone();
    let minutes = aboard.get(&hour).await.is(200).body;
    let minute = links(&minutes, "/log/boat_speed");
    assert_eq!(minute.len(), 45, "every minute: {minutes}");
    let place = aboard.get(&minute[20]).await.is(200).body;
    // The twenty-first minute: six records, in the log from its line 361 on.
    assert_eq!(place.matches("<mark class=\"here\"").count(), 6, "{place}");
    assert_eq!(place.matches("id=\"here\"").count(), 1, "{place}");
    let line = log.lines().nth(361).expect("a line");
    assert!(line.contains("VHW") && place.contains(line), "{line} {place}");
    assert!(place.contains("→ 6 kn, 19:20:00.000") && place.contains(">362<"), "{place}");
    // A log's own screen, an outing's figures and a polar's cells lead there too.
    let own = links(&place, "/source/").pop().expect("the log");
    let own = aboard.get(&own).await.is(200).body;
    assert!(own.contains("An instrument log") && own.contains("270 samples"), "{own}");
    for address in links(&own, "/log/") {
        aboard.get(&address).await.is(200);
    }
    let sailed = aboard.get("/sailed").await.is(200).body;
    assert!(links(&sailed, "/log/true_wind_speed").len() == 1, "{sailed}");
    let cells = links(&sailed, "/polar/minutes");
    assert_eq!(cells.len(), 2, "{sailed}");
    let behind = aboard.get(&cells[0]).await.is(200).body;
    assert!(behind.contains("30 minutes, each with its mean"), "{behind}");
    let log = links(&behind, "/log/true_wind_speed");
    assert_eq!(log.len(), 30);
    assert!(aboard.get(&log[0]).await.is(200).body.contains("IIMWV,40,T,13.0,N,A"));
    // What is not there, or not asked in words that mean anything.
    aboard.get("/log/heel").await.is(404);
    aboard.get("/log/nonsense").await.is(404);
    aboard.get("/log/boat_speed?from=soon").await.is(400);
    aboard.get("/log/boat_speed?from=2026-05-10T00:00:00Z&until=2026-05-01T00:00:00Z").await.is(200);
    let elsewhere =
        aboard.get("/log/boat_speed?from=2027-05-09T00:00:00Z&until=2027-05-09T00:01:00Z").await.is(200);
    assert!(elsewhere.body.contains("They said nothing of it then"), "{}", elsewhere.body);
    aboard.get("/log/boat_speed?from=-262000-01-01T00:00:00Z&until=262000-01-01T00:00:00Z").await;
    aboard.get("/polar/minutes?first=-9223372036854775808&end=9223372036854775807&angle_from=NaN&angle_to=inf&wind_from=0&wind_to=1")
        .await
        .is(200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_trial_is_shown_as_measured_and_put_right() {
    let aboard = Aboard::new();
    aboard.upload(&[("boat.log", boat_log().as_bytes())]).await.is(303);
    let words =
        "2026-05-09\n\n19:02 Off the mooring.\n19:35 True wind 20 knots. Tried the windvane again. Failed.\n";
    let taken = aboard.post("/note", &[("words", words)]).await.is(303);
    let shown = aboard.get(taken.to()).await.is(200).body;
    let address = links(&shown, "/trial/").pop().unwrap_or_else(|| panic!("a trial in {shown}"));
    let trial = aboard.get(&address).await.is(200).body;
    assert!(trial.contains("Said to be tried in") && trial.contains("20\u{a0}kn"), "{trial}");
    assert!(trial.contains("Measured then") && links(&trial, "/log/boat_speed").len() == 1, "{trial}");
    // The reading that the log contradicts leads to what the log has.
    let doubts = aboard.get("/doubts").await.is(200).body;
    assert!(doubts.contains("the log has 13"), "{doubts}");
    let log = links(&doubts, "/log/true_wind_speed").pop().expect("the log");
    aboard.get(&log).await.is(200);
    let reading = links(&doubts, "/reading/").pop().expect("its screen");
    let reading = aboard.get(&reading).await.is(200).body;
    assert!(reading.contains("The instruments had") && links(&reading, "/log/").len() == 1, "{reading}");
    // The item that it raised has the conditions too.
    let first = aboard.get("/").await.is(200).body;
    assert!(first.contains("Measured then"), "{first}");
    // Another outcome goes before what was read, and the item is gone.
    let fields =
        |outcome: &'static str| [("outcome", outcome), ("gear", "windvane"), ("at", "2026-05-09T19:35")];
    aboard.post(&format!("{address}/correct"), &fields("splendid")).await.is(400);
    let gear = between(&trial, "name=\"gear\" value=\"", "\"");
    let fields = [("outcome", "pass"), ("gear", gear), ("at", "2026-05-09T19:35")];
    aboard.post(&format!("{address}/correct"), &fields).await.is(303);
    let trial = aboard.get(&address).await.is(200).body;
    assert!(trial.contains("value=\"pass\" checked"), "{trial}");
    let first = aboard.get("/").await.is(200).body;
    assert!(!first.contains("failed when tried"), "{first}");
    aboard.post(&format!("{address}/correct"), &fields).await.is(400);
    aboard.post(&format!("{address}/dismiss"), &[]).await.is(303);
    aboard.get(&address).await.is(404);
    aboard.post(&format!("{address}/confirm"), &[]).await.is(404);
}
