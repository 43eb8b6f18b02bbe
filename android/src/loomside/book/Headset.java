package loomside.book;

import android.content.Context;
import android.content.Intent;
import android.media.session.MediaSession;
import android.media.session.PlaybackState;
import android.os.Handler;
import android.os.Looper;
import android.view.KeyEvent;
import java.util.concurrent.atomic.AtomicInteger;

/**
 * Counts how often a headset's button is pressed while a row is read aloud. The system hands such a press to the media
 * session that is active and last made a sound; a callback is a class, which Python cannot make, so it lies here.
 */
public final class Headset {
    private static final AtomicInteger PRESSES = new AtomicInteger();
    private static MediaSession session;

    private Headset() {}

    /** Take the button for ours. */
    public static void listen(Context context) {
        PRESSES.set(0);
        if (session != null) {
            return;
        }
        session = new MediaSession(context, "Loomside");
        session.setCallback(new Count(), new Handler(Looper.getMainLooper()));
        session.setPlaybackState(
                new PlaybackState.Builder()
                        .setActions(PlaybackState.ACTION_PLAY_PAUSE | PlaybackState.ACTION_SKIP_TO_NEXT)
                        .setState(PlaybackState.STATE_PLAYING, 0, 1f)
                        .build());
        session.setActive(true);
    }

    /** Return how often the button was pressed since this was last asked. */
    public static int presses() {
        return PRESSES.getAndSet(0);
    }

    /** Let the button do what it does elsewhere. */
    public static void leave() {
        if (session != null) {
            session.release();
            session = null;
        }
    }

    private static final class Count extends MediaSession.Callback {
        @Override
        public boolean onMediaButtonEvent(Intent intent) {
            KeyEvent key = (KeyEvent) intent.getParcelableExtra(Intent.EXTRA_KEY_EVENT);
            if (key != null && key.getAction() == KeyEvent.ACTION_DOWN && key.getRepeatCount() == 0) {
                PRESSES.incrementAndGet();
            }
            return key != null;
        }
    }
}
