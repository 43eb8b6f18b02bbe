package loomside.book;

import android.app.AlarmManager;
import android.app.Notification;
import android.app.NotificationChannel;
import android.app.NotificationManager;
import android.app.PendingIntent;
import android.content.BroadcastReceiver;
import android.content.Context;
import android.content.Intent;
import android.content.SharedPreferences;
import android.os.Build;
import java.text.ParseException;
import java.text.SimpleDateFormat;
import java.util.Locale;
import org.json.JSONArray;
import org.json.JSONException;
import org.json.JSONObject;

/**
 * Reminds while the app is closed. The app hands over what to remind of and when, in words that are ready to show; it
 * lies in a file of preferences, so that the alarms can be set again after a restart, when the system has forgotten
 * them. Nothing of Python runs here.
 *
 * <p>A reminder is {"id", "kind", "channel", "at", "until", "title", "words", "page", "rug"}: "at" and "until" are
 * times of the wall clock, "2026-11-25T20:00", so that they stay what they are when the time zone changes.
 */
public class ReminderReceiver extends BroadcastReceiver {
    public static final String PREFERENCES = "reminders";
    public static final String ALL = "all";
    public static final String REMIND = "loomside.book.REMIND";
    public static final String OPEN = "loomside.book.OPEN";

    @Override
    public void onReceive(Context context, Intent intent) {
        if (REMIND.equals(intent.getAction())) {
            remind(context, intent.getIntExtra("id", -1));
        } else {
            setAlarms(context);
        }
    }

    /** Remind of these and of nothing else from now on; called by the app. */
    public static void schedule(Context context, String reminders) {
        for (JSONObject reminder : read(context)) {
            alarms(context).cancel(alarm(context, reminder.optInt("id")));
        }
        write(context, reminders);
        setAlarms(context);
    }

    private static void setAlarms(Context context) {
        long now = System.currentTimeMillis();
        for (JSONObject reminder : read(context)) {
            long at = instant(reminder.optString("at"));
            if (at < 0 || instant(reminder.optString("until")) < now) {
                continue;
            }
            // Inexact: the system may bundle it with others to save the battery. A time that has passed goes off at once.
            alarms(context)
                    .setAndAllowWhileIdle(
                            AlarmManager.RTC_WAKEUP, at, alarm(context, reminder.optInt("id")));
        }
    }

    private static void remind(Context context, int id) {
        JSONArray left = new JSONArray();
        JSONObject due = null;
        for (JSONObject reminder : read(context)) {
            if (reminder.optInt("id") == id) {
                due = reminder;
            } else {
                left.put(reminder);
            }
        }
        if (due == null) {
            return;
        }
        write(context, left.toString());
        if (instant(due.optString("until")) < System.currentTimeMillis()) {
            return;
        }
        NotificationManager notices =
                (NotificationManager) context.getSystemService(Context.NOTIFICATION_SERVICE);
        Notification.Builder notice;
        if (Build.VERSION.SDK_INT >= 26) {
            notices.createNotificationChannel(
                    new NotificationChannel(
                            due.optString("kind"),
                            due.optString("channel"),
                            NotificationManager.IMPORTANCE_DEFAULT));
            notice = new Notification.Builder(context, due.optString("kind"));
        } else {
            notice = new Notification.Builder(context);
        }
        Intent open = new Intent(context, org.kivy.android.PythonActivity.class);
        open.setAction(OPEN);
        open.putExtra("page", due.optString("page"));
        open.putExtra("rug", due.optString("rug"));
        open.addFlags(Intent.FLAG_ACTIVITY_NEW_TASK | Intent.FLAG_ACTIVITY_SINGLE_TOP);
        PendingIntent tapped =
                PendingIntent.getActivity(
                        context, id, open, PendingIntent.FLAG_IMMUTABLE | PendingIntent.FLAG_UPDATE_CURRENT);
        notice.setSmallIcon(R.drawable.notice)
                .setContentTitle(due.optString("title"))
                .setContentText(due.optString("words"))
                .setStyle(new Notification.BigTextStyle().bigText(due.optString("words")))
                .setCategory(Notification.CATEGORY_REMINDER)
                .setContentIntent(tapped)
                .setAutoCancel(true);
        notices.notify(id, notice.build());
    }

    private static AlarmManager alarms(Context context) {
        return (AlarmManager) context.getSystemService(Context.ALARM_SERVICE);
    }

    private static PendingIntent alarm(Context context, int id) {
        Intent intent = new Intent(context, ReminderReceiver.class);
        intent.setAction(REMIND);
        intent.putExtra("id", id);
        return PendingIntent.getBroadcast(
                context, id, intent, PendingIntent.FLAG_IMMUTABLE | PendingIntent.FLAG_UPDATE_CURRENT);
    }

    private static JSONObject[] read(Context context) {
        SharedPreferences kept = context.getSharedPreferences(PREFERENCES, Context.MODE_PRIVATE);
        try {
            JSONArray found = new JSONArray(kept.getString(ALL, "[]"));
            JSONObject[] reminders = new JSONObject[found.length()];
            for (int i = 0; i < reminders.length; i++) {
                reminders[i] = found.getJSONObject(i);
            }
            return reminders;
        } catch (JSONException trouble) {
            return new JSONObject[0];
        }
    }

    private static void write(Context context, String reminders) {
        context.getSharedPreferences(PREFERENCES, Context.MODE_PRIVATE)
                .edit()
                .putString(ALL, reminders)
                .apply();
    }

    /** Return the instant, in milliseconds, of a time of this phone's wall clock; -1 when it is no time. */
    private static long instant(String wallClock) {
        try {
            return new SimpleDateFormat("yyyy-MM-dd'T'HH:mm", Locale.ROOT).parse(wallClock).getTime();
        } catch (ParseException trouble) {
            return -1;
        }
    }
}
