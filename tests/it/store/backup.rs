//! Backups: from either kind of database to either, whole or not at all.

use hatchward::collection::change::Change;
use hatchward::collection::events::Weight;
use hatchward::collection::store::{BackupError, Place, Store, Who};
use hatchward::collection::{demo, files::portable::portable};
use hatchward::species::Catalogue;

use super::server::{Server, shared, stores};

async fn backed_up(store: &Store) -> Vec<u8> {
    let mut out = Vec::new();
    store.back_up(&mut out).await.expect("it is written");
    out
}

#[tokio::test]
async fn a_backup_comes_back_in_either_kind_of_database() {
    let catalogue = Catalogue::builtin().expect("sound");
    let from = Store::open(&Place::Memory).await.expect("it opens");
    demo::fill(&from, &catalogue).await.expect("the demo");
    sqlx::query("insert into discord_pairing (member_id, request) values (7, 'clown x clown')")
        .execute(from.pool())
        .await
        .expect("a row of the platform");
    let keeper = from.keeper(&demo::keeper()).await.expect("an answer").expect("she is there");
    // The demo is the beginning; this can be taken back.
    assert_eq!(from.undo(keeper).await.expect("an answer"), None);
    let herd = from.herd(keeper).await.expect("a herd");
    let animal_id = herd.animals[0].id;
    let mut change = Change::new("weight", "weighed");
    let on = jiff::civil::date(2026, 11, 1);
    change.put(&Weight { id: herd.ids().event(), version: 0, animal_id, on, grams: 1500 });
    from.save(keeper, &change, None).await.expect("it is saved");
    let file = backed_up(&from).await;
    let before = from.herd(keeper).await.expect("a herd");
    from.close().await;
    for to in stores().await {
        let n = to.restore(&mut &file[..], false).await.expect("it is taken in");
        assert!(n > 300, "{n} rows");
        let same = to.keeper(&demo::keeper()).await.expect("an answer").expect("she is there");
        assert_eq!(to.herd(same).await.expect("a herd"), before);
        // What comes next has numbers of its own, and what came before can be taken back.
        let next = to.keeper_or_new(&Who { platform: "terminal", user: "next".to_owned() }).await.expect("a number");
        assert!(next > same);
        sqlx::query("insert into discord_pairing (member_id, request) values (8, 'x')")
            .execute(to.pool())
            .await
            .expect("a number of its own");
        assert_eq!(to.undo(same).await.expect("an answer").as_deref(), Some("weighed"));
        // A second time it is refused, and says how many rows are there; nothing is touched.
        let refused = to.restore(&mut &file[..], false).await.expect_err("it is not empty");
        assert!(matches!(refused, BackupError::NotEmpty { .. }), "{refused}");
        assert_eq!(to.herd(same).await.expect("a herd").weights.len(), before.weights.len() - 1);
        to.restore(&mut &file[..], true).await.expect("it replaces");
        assert_eq!(portable(&to.herd(same).await.expect("a herd")), portable(&before));
        // The pool is bound as before.
        assert!(sqlx::query("select * from animal").fetch_all(to.pool()).await.expect("an answer").is_empty());
        to.close().await;
    }
}

#[tokio::test]
async fn what_is_no_whole_backup_changes_nothing() {
    let Some(place) = shared().map(Server::database) else { return };
    let store = Store::open(&place).await.expect("it opens");
    let keeper = store.keeper_or_new(&demo::keeper()).await.expect("a keeper");
    let text = String::from_utf8(backed_up(&store).await).expect("text");
    let lines: Vec<&str> = text.lines().collect();
    let cut = lines[..lines.len() - 1].join("\n");
    let head = text.split_once("\"schema\":").expect("the head names the step").1;
    let step: String = head.chars().take_while(char::is_ascii_digit).collect();
    let newer = text.replacen(&format!("\"schema\":{step}"), "\"schema\":9999", 1);
    for (file, reason) in [
        ("", "cut off"),
        (cut.as_str(), "cut off"),
        ("{\"format\":\"other\"}\n", "line 1"),
        (newer.as_str(), "newer Hatchward (step 9999"),
        (&format!("{}\nnonsense\n", lines[0]), "line 2"),
        (&format!("{}\n[\"pg_class\",{{}}]\n{{\"rows\":1}}\n", lines[0]), "line 2"),
        (&format!("{}\n{{\"rows\":5}}\n", lines[0]), "line 2"),
    ] {
        let error = store.restore(&mut file.as_bytes(), true).await.expect_err("it is refused");
        assert!(error.to_string().contains(reason), "{error} without {reason}");
        assert_eq!(store.keeper(&demo::keeper()).await.expect("an answer"), Some(keeper), "{reason}");
    }
    store.close().await;
}
