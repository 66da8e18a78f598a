"""People who read German and Spanish get their notices in their language, by mail and by text, and what
programs read stays as it is. The mails are read back by Python's email package."""
import re
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until

GSM7 = set("@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡"
           "ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà")


class Languages(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm"])
        text = self.watcher.config.read_text()
        text = text.replace('phone: "+15550100"}', 'phone: "+15550100", languages: [fr, de-AT]}\n'
                            '  - {id: sol, name: Sol, email: sol@example.net, phone: "+15550101", '
                            'languages: [es]}')
        self.watcher.config.write_text(text.replace("tell: [robin]", "tell: [robin, sol]"))
        self.watcher.enrol("elm-main")
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["elm-main"], 0.5)
        self.loop.start()

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def mail_to(self, address, part):
        found = [m for m in self.catchers.mails if address in m["To"] and part in m["Subject"]]
        return found[0] if found else None

    def body(self, mail):
        """Read without a defect, as plain text of at most 78 columns."""
        self.assertEqual((mail.defects, mail.get_content_type()), ([], "text/plain"))
        text = mail.get_content().replace("\r\n", "\n")
        self.assertLessEqual(max(len(line) for line in text.splitlines()), 78)
        return text

    def test_loss_and_recovery(self):
        tank = lambda: self.watcher.status()["sites"][0]["tanks"][0]
        wait_until(lambda: tank()["controllers"][0]["contact"] == "present", "a first check-in")
        self.loop.silent.add("elm-main")
        wait_until(lambda: self.mail_to("robin@", "kein Kontakt seit") and
                   self.mail_to("sol@", "sin contacto desde"), "both mails of the loss")
        german = self.body(self.mail_to("robin@", "kein Kontakt seit"))
        self.assertRegex(german, r"Kein Kontakt mit .*Site elm seit\s\d\d:\d\d, bisher")
        self.assertIn("\nUrsache:\n", german)
        self.assertRegex(german, r"elm-main wurde zuletzt um\s\d\d:\d\d gehört\.")
        self.assertRegex(german, r"Vorsicht:\sTrockene\sHände")
        spanish = self.body(self.mail_to("sol@", "sin contacto desde"))
        self.assertIn("Qué mirar primero:", spanish)
        self.assertRegex(spanish, r"elm-main se oyó por última vez\sa\slas?\s\d\d:\d\d\.")
        wait_until(lambda: len(self.catchers.texts) == 2, "both texts")
        for text in self.catchers.texts:
            self.assertLessEqual(set(text["text"]), GSM7)
            self.assertLessEqual(len(text["text"]), 160)
        self.assertTrue(any("Hände trocken" in t["text"] for t in self.catchers.texts))
        self.assertTrue(any("Manos secas" in t["text"] for t in self.catchers.texts))
        wait_until(lambda: self.catchers.hooks, "the event")
        event = self.catchers.hooks[0][1]
        self.assertEqual((event["type"], event["data"]["decision"]), ("ebbwatch.loss", "loss"))
        self.assertTrue(any(re.search("was last heard", s) for s in event["data"]["evidence"]))

        self.loop.silent.clear()
        wait_until(lambda: self.mail_to("robin@", "Kontakt wieder da nach") and
                   self.mail_to("sol@", "contacto recuperado tras"), "both mails of the recovery")
        self.assertRegex(self.body(self.mail_to("robin@", "Kontakt wieder da")),
                         r"Der Kontakt mit .*\sist\sseit\s\d\d:\d\d\swieder\sda\.")


if __name__ == "__main__":
    unittest.main()
